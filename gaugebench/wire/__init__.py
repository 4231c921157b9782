"""Codecs of the open protocols, used by the drivers and by the simulated kit alike."""
