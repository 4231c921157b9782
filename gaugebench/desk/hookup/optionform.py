"""A driver's options as a form, drawn from its pydantic model."""

from __future__ import annotations

from enum import Enum
from types import NoneType
from typing import Any, Literal, get_args, get_origin

from pydantic import BaseModel, ValidationError
from PySide6.QtWidgets import QCheckBox, QComboBox, QFormLayout, QLineEdit, QWidget

from gaugebench.desk.words import tr
from gaugebench.errors import KitError

_Field = QCheckBox | QComboBox | QLineEdit


class OptionForm(QWidget):
    """One row for each option; what is left alone keeps its default."""

    def __init__(self, options: type[BaseModel], ports: list[str]) -> None:
        super().__init__()
        self._options = options
        self.fields: dict[str, _Field] = {}
        form = QFormLayout(self)
        form.setContentsMargins(0, 0, 0, 0)
        for name, info in options.model_fields.items():
            made = _field(info.annotation, info.default, ports if name == "port" else None)
            made.setAccessibleName(f"{name}: {info.description or ''}")
            made.setToolTip(info.description or "")
            self.fields[name] = made
            form.addRow(name.replace("_", " "), made)

    def set_ports(self, ports: list[str]) -> None:
        """Offer these ports; what is chosen stays chosen."""
        box = self.fields.get("port")
        if not isinstance(box, QComboBox):
            return
        now = box.currentText()
        listed = [box.itemText(i) for i in range(box.count())]
        if listed != ports:
            box.clear()
            box.addItems(ports)
            box.setEditText(now or (ports[0] if ports else ""))

    def values(self) -> dict[str, Any]:
        """The options that differ from their defaults, checked. Raises `KitError`."""
        typed: dict[str, Any] = {}
        for name, made in self.fields.items():
            value = _value(made)
            if value not in ("", None):
                typed[name] = value
        try:
            checked = self._options.model_validate(typed)
        except ValidationError as fault:
            first = fault.errors()[0]
            where = ".".join(str(part) for part in first["loc"]) or tr("options")
            raise KitError(f"{where}: {first['msg'].removeprefix('Value error, ')}.") from fault
        return checked.model_dump(mode="json", exclude_defaults=True, exclude_none=True)


def _value(made: _Field) -> object:
    match made:
        case QCheckBox():
            return made.isChecked()
        case QComboBox():
            return made.currentText().strip() if made.isEditable() else made.currentData()
        case _:
            text = made.text().strip()
            # A list is written with commas between.
            return [p.strip() for p in text.split(",")] if made.property("many") and text else text


def _field(annotation: Any, default: object, ports: list[str] | None) -> _Field:
    kinds = [k for k in get_args(annotation) or (annotation,) if k is not NoneType]
    if ports is not None:
        box = QComboBox()
        box.setEditable(True)
        box.addItems(ports)
        return box
    if annotation is bool:
        check = QCheckBox(tr("yes"))
        check.setChecked(default is True)
        return check
    choices = _choices(annotation, kinds)
    if choices:
        box = QComboBox()
        for choice in choices:
            box.addItem(str(choice), choice)
        box.setCurrentText(str(default.value if isinstance(default, Enum) else default))
        return box
    line = QLineEdit()
    line.setProperty("many", any(get_origin(k) in {tuple, list} for k in (annotation, *kinds)))
    shown = default if isinstance(default, (str, int, float)) and default != "" else ""
    line.setPlaceholderText(tr("as usual: {value}", value=shown) if shown != "" else "")
    return line


def _choices(annotation: Any, kinds: list[Any]) -> list[object]:
    if get_origin(annotation) is Literal:
        return list(get_args(annotation))
    for kind in kinds:
        if get_origin(kind) is Literal:
            return ["", *get_args(kind)]
        if isinstance(kind, type) and issubclass(kind, Enum):
            return [member.value for member in kind]
    return []
