"""Reading what other loggers wrote: text files of many kinds, through one importer."""
