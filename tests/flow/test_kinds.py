"""Finding the kind of a joint from the command line."""

from __future__ import annotations

import json

from click.testing import CliRunner

from kitting.commands import group


def told(*words):
    result = CliRunner().invoke(group, ["kinds", *words], standalone_mode=False)
    return result.return_value, result.output


def test_words_of_the_bench_lead_to_the_kind():
    """Someone with a drain plug in hand finds its joint and the washer that it takes."""
    code, text = told("drain", "plug")
    assert code == 0
    assert text.splitlines()[0] == "threaded_port_parallel_crush"
    assert "STOP seal: one crush or bonded washer" in text


def test_every_kind_is_listed_in_80_columns():
    """Each kind stands on a line of its own."""
    _, text = told()
    _, as_json = told("--json")
    kinds = json.loads(as_json)
    assert len(kinds) >= 36
    assert set(kinds) <= set(text.splitlines())
    assert max(map(len, text.splitlines())) <= 80


def test_an_unknown_word_is_said():
    code, text = told("zebra")
    assert code == 1
    assert "kitting kinds lists them all" in text
