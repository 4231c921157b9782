"""How numbers, bands and conditions are worded, on a page as on a screen."""

from __future__ import annotations

from gaugebench.model.job import Conditions, Value
from gaugebench.model.saying import Saying, fixed, joined
from gaugebench.model.sheet import Check
from gaugebench.quantity import Dimension, Number, show, unit


def shown_unit(check: Check, pressure: str) -> str:
    """The unit a check's numbers are shown in: the report's for pressures, else the sheet's."""
    if check.dimension is Dimension.PRESSURE:
        return pressure
    return check.limits.shown_in if check.limits else check.dimension.value


def number(value: Value, shown_in: str, digits: int | None = None) -> str:
    """A value with its k = 2 uncertainty: `342.1 ± 1.2 bar`."""
    text = show(value.value, shown_in, digits)
    if value.expanded is None:
        return Saying("{text} (uncertainty not known)", text=text)
    plain = text.removesuffix(shown_in).rstrip()
    return Number(f"{plain} ± {show_difference(value.expanded, shown_in, plain)}")


def show_difference(inside: float, shown_in: str, like: str) -> str:
    """A difference in a unit, with as many decimals as `like`, the number it stands beside."""
    return Number(f"{inside / unit(shown_in).factor:.{_decimals(like)}f} {shown_in}")


def _decimals(text: str) -> int:
    return len(text.partition(".")[2])


def band_text(check: Check, pressure: str) -> str:
    """A check's band in words."""
    return check.limits.text(shown_unit(check, pressure)) if check.limits else "no band"


def conditions_text(card: Conditions) -> str:
    """A conditions card in one line."""
    parts = [
        Saying("engine {engine}", engine=card.engine) if card.engine else "",
        Saying("mode {mode}", mode=card.mode) if card.mode else "",
        _flag("auto-idle off", card.auto_idle_off),
        _flag("boost off", card.boost_off),
        Saying("travel speed {travel_speed}", travel_speed=card.travel_speed)
        if card.travel_speed
        else "",
        Saying("attachment {attachment}", attachment=card.attachment) if card.attachment else "",
        Saying("{engine_rpm} rpm", engine_rpm=fixed(card.engine_rpm))
        if card.engine_rpm is not None
        else "",
        Saying("oil {oil_c} °C", oil_c=fixed(card.oil_c)) if card.oil_c is not None else "",
    ]
    return joined((p for p in parts if p), ", ") or "not stated"


def _flag(words: str, value: bool | None) -> str:
    return "" if value is None else words if value else Saying("not {words}", words=words)
