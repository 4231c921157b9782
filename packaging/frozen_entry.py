"""Where the frozen program begins: the same command line as an installed one."""

from gaugebench.cli import main

main()
