"""The worksheet: checks in order, as found and as left, screws, what limits, where a fault lies.

Everything here is pure but `sheet`, `rules` and `jobfile`, which read and write files.
"""
