"""The job book: jobs, machines, customers, transducers and the traces that belong to them.

The trace files are the truth; the book only finds them, and can be made anew from a folder.
"""
