"""Gaugebench: the field hydraulics technician's pressure instrument."""

from importlib.metadata import version

__version__ = version("gaugebench")
