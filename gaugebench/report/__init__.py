"""The report of a job: PDF, HTML and XLSX. No Qt."""

from gaugebench.report.speech import ENGLISH, Speech
from gaugebench.report.writing import KINDS, PAPERS, write

__all__ = ["ENGLISH", "KINDS", "PAPERS", "Speech", "write"]
