"""Sentences that remember what they were made of, on disk and in another language."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from pydantic import BaseModel, ValidationError

from gaugebench.desk import words
from gaugebench.model.job.said import Said
from gaugebench.model.saying import Saying, joined
from gaugebench.quantity import show


class Kept(BaseModel):
    text: Said


@pytest.fixture
def german() -> Iterator[None]:
    words.speak("de")
    yield
    words.speak("en")


def test_a_saying_is_its_english_text_and_comes_back_from_disk_with_its_values() -> None:
    inner = Saying("at most {limit}", limit=show(8e5, "bar"))
    text = Saying("{title}: {words}", title="Pilot", words=inner)
    assert text == "Pilot: at most 8.0 bar"
    back = Kept.model_validate_json(Kept(text=text).model_dump_json()).text
    assert back == text
    assert isinstance(back, Saying)
    assert back.values["words"] == inner
    assert Kept.model_validate_json('{"text": "plain"}').text == "plain"


@pytest.mark.parametrize(
    "written", [3, {"says": "{x}", "with": {}}, {"says": "{x}"}, {"number": 3}, ["a"]]
)
def test_what_is_no_text_is_refused(written: Any) -> None:
    with pytest.raises(ValidationError):
        Kept.model_validate({"text": written})


@pytest.mark.usefixtures("german")
def test_it_is_said_in_german_with_decimal_commas_and_the_sheets_own_words_kept() -> None:
    text = Saying("“{title}” was not read", title="Main relief 1")
    band = Saying("at least {limit}", limit=show(315e5, "bar"))
    said = words.said(joined((text, band)))
    assert said == "„Main relief 1“ wurde nicht abgelesen; mindestens 315,0 bar"
    assert not words.missing()
