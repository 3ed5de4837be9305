"""Texts that tell of missing parts."""

from __future__ import annotations

import pandas as pd
import pytest

from kitting.audit import mentions
from kitting.errors import InputError
from kitting.reading.texts import read_texts, text_rules
from kitting.tables.audit import MENTIONS, TEXTS

RULES = text_rules()


@pytest.fixture
def told(frame_of):
    """Give a function that looks through texts."""
    parts = frame_of(
        "parts",
        {"part": "OR-236-V75", "name": "o-ring 236, 82 mm"},
        {"part": "CW-12X16", "name": "copper washer, 12 x 16"},
        {"part": "FW", "name": "flywheel"},
    )

    def look(*texts):
        frame = pd.DataFrame({"row": range(1, len(texts) + 1), "build": "", "text": texts})
        return MENTIONS.check(mentions(TEXTS.conform(frame), RULES, parts))

    return look


@pytest.mark.parametrize("rule", RULES.to_dict("records"), ids=lambda r: r["rule"])
def test_each_rule_finds_its_example(told, rule):
    """A rule says what its own example says; what a rule of kind not covers is found by none."""
    found = told(rule["example"])
    if rule["kind"] == "not":
        assert found.empty
    else:
        assert found["kind"].tolist() == [rule["kind"]]
    from kitting.audit.texts import pattern

    assert pattern(rule["says"]).search(rule["example"])


@pytest.mark.parametrize(
    "text",
    [
        "removed and replaced gasket",
        "no screws missing fingers",
        "lost oil pressure at idle",
        "nothing missing",
        "permission granted",
        "",
        "stopped for lunch",
    ],
)
def test_what_tells_of_nothing(told, text):
    assert told(text).empty


def test_parts_are_named_by_number_or_by_words(told):
    found = told(
        "OR-236-V75 missing again",
        "one copper washer is missing on the feed",
        "waiting for the flywheel",
        "a screw is missing",
    )
    assert found["part"].tolist() == ["OR-236-V75", "CW-12X16", "FW", ""]
    assert found["cause"].tolist() == ["", "", "late", ""]


def test_csv_and_plain_files(tmp_path):
    """A csv file by its columns, another file by its lines; blank texts are left out."""
    table = tmp_path / "log.csv"
    table.write_text("Job,Note,Hours\nB1,seal missing,2\nB2,,1\n", encoding="utf-8")
    assert read_texts(table).to_dict("records") == [
        {"row": 2, "build": "B1", "text": "seal missing"}
    ]
    plain = tmp_path / "log.txt"
    plain.write_text("seal missing\n\nbolt on order\n", encoding="utf-8")
    assert read_texts(plain)["row"].tolist() == [1, 3]
    (tmp_path / "empty.csv").write_text("", encoding="utf-8")
    assert read_texts(tmp_path / "empty.csv").empty
    (tmp_path / "bad.txt").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(InputError, match="cannot be read as text"):
        read_texts(tmp_path / "bad.txt")
