"""Nothing in the program can run what a file or a device says, or reach a network.

The rules are held to samples first, so that a rule that finds nothing is known to be able to find.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PRODUCT = ("gaugebench", "drivers/gaugebench_drivers")
SCRIPTS = ("packaging",)

UNPACKS_CODE = {"pickle", "cPickle", "marshal", "shelve", "dill", "cloudpickle", "joblib", "yaml"}
RUNS_CODE = {"eval", "exec", "compile", "__import__"}
SHELLS = {"system", "popen", "startfile", "posix_spawn", "posix_spawnp"}
PANDAS = {"read_pickle", "to_pickle", "eval", "query"}
NETWORK = {
    *("socket", "socketserver", "ssl", "http", "urllib", "ftplib", "smtplib", "imaplib", "poplib"),
    *("xmlrpc", "wsgiref", "asyncio", "multiprocessing", "requests", "httpx", "aiohttp"),
    *(
        "urllib3",
        "websockets",
        "paramiko",
        "zmq",
        "QtNetwork",
        "QtWebEngineWidgets",
        "QtWebSockets",
    ),
}
PROCESSES = {"subprocess", "webbrowser", "code", "codeop"}


def imported(node: ast.AST) -> Iterator[str]:
    """Every dotted name that an import statement brings in, and the parts of each."""
    if isinstance(node, ast.Import):
        names = [alias.name for alias in node.names]
    elif isinstance(node, ast.ImportFrom) and not node.level:
        names = [f"{node.module}.{alias.name}" for alias in node.names]
    else:
        return
    for name in names:
        yield from name.split(".")


def breaches(text: str, *, product: bool = True) -> list[str]:
    """Line and reason of each thing that must not stand in a source file."""
    found = []
    for node in ast.walk(ast.parse(text)):
        where = f"line {getattr(node, 'lineno', 0)}: "
        names = set(imported(node))
        banned = UNPACKS_CODE | ((NETWORK | PROCESSES) if product else set())
        found += [f"{where}imports {name}" for name in sorted(names & banned)]
        if isinstance(node, ast.Call):
            found += [where + reason for reason in call_breaches(node)]
    return found


def call_breaches(call: ast.Call) -> Iterator[str]:
    for keyword in call.keywords:
        is_off = isinstance(keyword.value, ast.Constant) and keyword.value.value is False
        if keyword.arg in {"shell", "allow_pickle"} and not is_off:
            yield f"asks for {keyword.arg}"
    match call.func:
        case ast.Name(name) if name in RUNS_CODE:
            yield f"calls {name}"
        case ast.Attribute(ast.Name("os"), name) if name in SHELLS or name.startswith(
            ("exec", "spawn")
        ):
            yield f"calls os.{name}"
        case ast.Attribute(ast.Name("tempfile"), "mktemp"):
            yield "calls tempfile.mktemp"
        case ast.Attribute(_, name) if name in PANDAS:
            yield f"calls .{name}"


@pytest.mark.parametrize(
    "line",
    [
        "import pickle",
        "from pickle import loads as read",
        "import numpy, marshal",
        "import urllib.request",
        "from socket import create_connection",
        "import subprocess",
        "from PySide6.QtNetwork import QTcpSocket",
        "from PySide6 import QtNetwork",
        "eval('1')",
        "exec(text)",
        "compile(text, '', 'eval')",
        "__import__(name)",
        "os.system('ls')",
        "os.popen(x)",
        "os.execv(x, y)",
        "os.spawnl(x)",
        "run('ls', shell=True)",
        "run('ls', shell=flag)",
        "np.load(path, allow_pickle=True)",
        "pd.read_pickle(path)",
        "frame.query('a > 1')",
        "tempfile.mktemp()",
    ],
)
def test_each_forbidden_thing_would_be_found(line: str) -> None:
    assert breaches(f"def f():\n    {line}\n") != []


@pytest.mark.parametrize(
    "line",
    [
        "import numpy as np",
        "from gaugebench.simulate import board",
        "from . import code",
        "run(['ls'], shell=False)",
        "re.compile('a')",
        "app.exec()",
        "'eval(1)'",
    ],
)
def test_what_is_allowed_is_not_found(line: str) -> None:
    assert breaches(f"{line}\n") == []


# The one place that starts a process: the system's own means to stay awake, a fixed command.
STARTS_PROCESSES = {"gaugebench/session/awake.py": ["line 10: imports subprocess"]}


@pytest.mark.parametrize("room", [*PRODUCT, *SCRIPTS])
def test_nothing_forbidden_stands_in(room: str) -> None:
    files = sorted((ROOT / room).rglob("*.py"))
    assert files
    found = {
        str(path.relative_to(ROOT)): here
        for path in files
        if (here := breaches(path.read_text(encoding="utf-8"), product=room in PRODUCT))
    }
    allowed = {p: why for p, why in STARTS_PROCESSES.items() if Path(p).is_relative_to(room)}
    assert found == allowed
