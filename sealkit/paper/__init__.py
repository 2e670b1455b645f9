"""A report on paper: plain text, and one page to print."""

from sealkit.paper.content import CAUTIONS, LEAK, SCOPE, TABLE, Paper, paper_of
from sealkit.paper.page import compared, page, save
from sealkit.paper.text import side_by_side, summary, text
