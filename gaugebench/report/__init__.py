"""The report of a job: PDF, HTML and XLSX. No Qt."""
