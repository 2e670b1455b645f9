"""Sentences with quantities as data, in metric and inch."""

from __future__ import annotations

import pytest

from sealkit import InputError, tables
from sealkit.words import Note, figure_text, note
from tests.sheets import TABLES


@pytest.mark.parametrize(
    ("template", "metric", "inch"),
    [
        ("oil, {900 kPa}", "oil, 900 kPa", "oil, 131 psi"),
        ("0.6 of the tensile strength {250 MPa}", None, "0.6 of the tensile strength 36.3 ksi"),
        ("{-0.41 cm³}", "-0.41 cm³", "-0.025 in³"),
        ("shank of {8.0 mm}", "shank of 8.0 mm", "shank of 0.31 in"),
        ("{10 to 15 mm}, M12x1.5", "10 to 15 mm, M12x1.5", "0.39 to 0.59 in, M12x1.5"),
        ("{20 °C}, {80 K} more", "20 °C, 80 K more", "68 °F, 140 °F more"),
        ("ASTM F36, class 10.9", "ASTM F36, class 10.9", "ASTM F36, class 10.9"),
    ],
)
def test_quantities_of_a_note_are_those_of_the_shop(
    template: str, metric: str | None, inch: str
) -> None:
    assert Note(template).text() == (metric or template.replace("{", "").replace("}", ""))
    assert Note(template).text("inch") == inch


def test_values_stand_for_themselves_whatever_braces_they_hold() -> None:
    words = note("{what}: {much}", what="a {strange} name", much=(0.0254, "length"))
    assert words.text("inch") == "a {strange} name: 1.000 in"
    assert figure_text("{0.5 mm}", "inch") == "{0.5 mm}"
    with pytest.raises(InputError, match="a number and a metric unit"):
        Note("{strange}").text()


@pytest.mark.parametrize("name", TABLES)
def test_every_note_of_a_table_reads_in_both_systems(name: str) -> None:
    for row in tables.load(name).rows:
        for cell in row.values():
            if isinstance(cell, Note):
                assert "{" not in cell.text() and "{" not in cell.text("inch")
                assert cell.text() != cell.text("inch")
