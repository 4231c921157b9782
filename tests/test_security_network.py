"""The program opens no socket, neither by itself nor through Qt or another library."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

KIT = """schema = 1
simulated = true
[[source]]
driver = "practice"
[[source.channel]]
input = "p1"
role = "pump1.main"
signal = "0.5-4.5 V"
range = ["0 bar", "600 bar"]
"""
GUARDED = """
import sys

def guard(event, arguments):
    # socket.__new__ comes before any use; a serial port is no socket.
    if event.startswith(("socket.", "urllib.")):
        raise SystemExit(f"network use: {event} {arguments!r}")

sys.addaudithook(guard)
from gaugebench import cli

def run(*arguments):
    sys.argv = ["gaugebench", *arguments]
    try:
        cli.main()
    except SystemExit as end:
        if end.code:
            raise

%s
print("no network was used")
"""
COMMANDS = """
run("drivers")
run("ports")
run("record", "--kit", "kit.toml", "--out", "x.h5", "--seconds", "0.3")
run("figures", "x.h5", "--json")
run("convert", "x.h5", "x.csv")
run("figures", "x.csv")
run("recover", ".")
"""
SHIM = r"""
#define _GNU_SOURCE
#include <dlfcn.h>
#include <fcntl.h>
#include <stdlib.h>
#include <sys/socket.h>
#include <unistd.h>

/* Notes every socket of the internet families; local ones (a desktop's own) pass. */
int socket(int domain, int type, int protocol) {
    static int (*real)(int, int, int);
    if (!real) real = (int (*)(int, int, int))dlsym(RTLD_NEXT, "socket");
    if (domain == AF_INET || domain == AF_INET6 || domain == AF_PACKET) {
        int file = open(getenv("SOCKET_NOTES"), O_WRONLY | O_CREAT | O_APPEND, 0600);
        if (file >= 0) {
            if (write(file, "internet socket\n", 16) < 0) abort();
            close(file);
        }
    }
    return real(domain, type, protocol);
}
"""


def guarded(commands: str, folder: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", GUARDED % commands],
        env={**os.environ, "QT_QPA_PLATFORM": "offscreen"},
        cwd=folder,
        capture_output=True,
        text=True,
        timeout=100,
    )


def test_no_command_opens_a_socket(tmp_path: Path) -> None:
    (tmp_path / "kit.toml").write_text(KIT, encoding="utf-8")
    done = guarded(COMMANDS, tmp_path)
    assert done.returncode == 0, done.stderr
    assert done.stdout.endswith("no network was used\n")


def test_a_socket_would_be_noticed(tmp_path: Path) -> None:
    done = guarded("import socket; socket.socket()", tmp_path)
    assert done.returncode == 1
    assert "network use: socket.__new__" in done.stderr


@pytest.mark.tools
@pytest.mark.timeout(300)
def test_the_demonstration_opens_none_in_any_library(tmp_path: Path) -> None:
    """Below Python, where an audit hook sees nothing: the C library's own `socket`."""
    (tmp_path / "shim.c").write_text(SHIM, encoding="utf-8")
    shim, notes = tmp_path / "shim.so", tmp_path / "notes"
    subprocess.run(
        ["cc", "-shared", "-fPIC", "-o", shim, tmp_path / "shim.c", "-ldl"], check=True, timeout=60
    )
    watched = {
        **os.environ,
        "QT_QPA_PLATFORM": "offscreen",
        "LD_PRELOAD": str(shim),
        "SOCKET_NOTES": str(notes),
    }

    def run(code: str) -> None:
        subprocess.run(
            [sys.executable, "-c", code], env=watched, cwd=tmp_path, check=True, timeout=250
        )

    run("import socket; socket.socket().close()")
    assert notes.read_text(encoding="utf-8") == "internet socket\n", "the shim would notice"
    notes.unlink()
    run(
        "import sys; from gaugebench.cli import main; "
        "sys.argv = ['gaugebench', 'demo', '--headless', '--out', 'out']; main()"
    )
    assert list((tmp_path / "out").rglob("*.h5"))
    assert not notes.exists()
