"""The report on one build: numbers and a verdict, and what is read from them."""

from sealkit.report.result import Report, kept_report, margin_words, percent, run
from sealkit.report.tables import (
    Facts,
    facts,
    first_words,
    grid,
    order_rows,
    rows,
    side_rows,
    sides,
)
