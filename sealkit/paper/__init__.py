"""A report on paper: plain text, and one page to print."""

from sealkit.paper.content import CAUTIONS, LEAK, SCOPE, Paper, paper_of
from sealkit.paper.page import page, save
from sealkit.paper.text import summary, text

__all__ = ["CAUTIONS", "LEAK", "SCOPE", "Paper", "page", "paper_of", "save", "summary", "text"]
