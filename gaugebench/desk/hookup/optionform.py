"""A driver's options as a form, drawn from its pydantic model."""

from __future__ import annotations

from enum import Enum
from types import NoneType
from typing import Any, Literal, get_args, get_origin

from pydantic import BaseModel, ValidationError
from PySide6.QtWidgets import QCheckBox, QComboBox, QFormLayout, QLineEdit, QWidget

from gaugebench.desk.words import known, said, tr
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
            made = _field(name, info.annotation, info.default, ports if name == "port" else None)
            title, about = said(name.replace("_", " ")), said(info.description or "")
            made.setAccessibleName(f"{title}: {about}")
            made.setToolTip(about)
            self.fields[name] = made
            form.addRow(title, made)

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
            raise KitError(self._in_words(fault)) from fault
        return checked.model_dump(mode="json", exclude_defaults=True, exclude_none=True)

    def _in_words(self, fault: ValidationError) -> str:
        """The first thing that is wrong."""
        first = fault.errors()[0]
        name = str(first["loc"][0]) if first["loc"] else ""
        title = said(name.replace("_", " ")) if name else tr("options")
        made = self.fields.get(name)
        if made is not None and made.property("tables"):
            return tr(
                "{what} is written in the kit file, as tables; the guide shows how, under"
                " “Building a kit”.",
                what=title,
            )
        if first["type"] == "missing":
            return tr("{what} is needed: fill it in.", what=title)
        return f"{title}: {first['msg'].removeprefix('Value error, ')}."


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


def _field(name: str, annotation: Any, default: object, ports: list[str] | None) -> _Field:
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
            # One word may mean another thing elsewhere, so a choice may be told with its option.
            box.addItem(known(f"{name}: {choice}") or said(str(choice)), choice)
        usual = default.value if isinstance(default, Enum) else default
        box.setCurrentIndex(max(box.findData(usual), 0))
        return box
    line = QLineEdit()
    line.setProperty("many", any(get_origin(k) in {tuple, list} for k in (annotation, *kinds)))
    if _is_tables(annotation):
        line.setProperty("tables", True)  # noqa: FBT003 - Qt takes it so
        line.setEnabled(False)
        line.setPlaceholderText(tr("in the kit file"))
        return line
    shown = default if isinstance(default, (str, int, float)) and default != "" else ""
    line.setPlaceholderText(tr("as usual: {value}", value=shown) if shown != "" else "")
    return line


def _is_tables(annotation: Any) -> bool:
    """Whether an option is a list of tables, which a line of text cannot hold."""
    parts = get_args(annotation)
    return any(isinstance(p, type) and issubclass(p, BaseModel) for p in parts) or any(
        _is_tables(p) for p in parts
    )


def _choices(annotation: Any, kinds: list[Any]) -> list[object]:
    if get_origin(annotation) is Literal:
        return list(get_args(annotation))
    for kind in kinds:
        if get_origin(kind) is Literal:
            return ["", *get_args(kind)]
        if isinstance(kind, type) and issubclass(kind, Enum):
            return [member.value for member in kind]
    return []
