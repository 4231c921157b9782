"""The report of a job: PDF, HTML and XLSX. No Qt."""

from gaugebench.report.writing import KINDS, PAPERS, write

__all__ = ["KINDS", "PAPERS", "write"]
