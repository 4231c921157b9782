"""What must be there before a window can open, asked before Qt is: Qt would end the program.

Linux only; elsewhere Qt brings everything along. Needs no Qt itself.
"""

from __future__ import annotations

import ctypes
import os
import sys
from collections.abc import Callable, Iterable, Mapping

from gaugebench.errors import DeskError

DRAWING = {
    "libGL.so.1": "libgl1",
    "libEGL.so.1": "libegl1",
    "libglib-2.0.so.0": "libglib2.0-0",
    "libfontconfig.so.1": "libfontconfig1",
    "libdbus-1.so.3": "libdbus-1-3",
    "libxkbcommon.so.0": "libxkbcommon0",
}
"""What Qt needs to draw at all: the library and the Debian package that brings it."""
WINDOW = {
    "libxcb-cursor.so.0": "libxcb-cursor0",
    "libxkbcommon-x11.so.0": "libxkbcommon-x11-0",
    "libxcb-icccm.so.4": "libxcb-icccm4",
    "libxcb-image.so.0": "libxcb-image0",
    "libxcb-keysyms.so.1": "libxcb-keysyms1",
    "libxcb-render-util.so.0": "libxcb-render-util0",
    "libxcb-shape.so.0": "libxcb-shape0",
    "libX11-xcb.so.1": "libx11-xcb1",
}
"""What it needs besides for a window on an X11 screen."""
_WINDOWLESS = {"offscreen", "minimal", "vnc", "linuxfb", "eglfs"}


def loads(library: str) -> bool:
    """Whether the system can load a shared library."""
    try:
        ctypes.CDLL(library)
    except OSError:
        return False
    return True


def answers(_display: str) -> bool:
    """Whether the X11 screen that the environment names lets us in."""
    try:
        xcb = ctypes.CDLL("libxcb.so.1")
    except OSError:
        return False
    xcb.xcb_connect.restype = ctypes.c_void_p
    connection = ctypes.c_void_p(xcb.xcb_connect(None, None))
    refused = xcb.xcb_connection_has_error(connection)
    xcb.xcb_disconnect(connection)
    return not refused


def check_drawing(
    platform: str = sys.platform, has: Callable[[str], bool] = loads, also: Iterable[str] = ()
) -> None:
    """See that Qt can draw. Raises `DeskError` with the packages that are missing."""
    if platform != "linux":
        return
    wanted = {**DRAWING, **{library: WINDOW[library] for library in also}}
    missing = [package for library, package in wanted.items() if not has(library)]
    if missing:
        raise DeskError(
            "The desk needs system libraries that are missing; on Debian run: "
            f"sudo apt-get install {' '.join(missing)}"
        )


def check_window(
    environment: Mapping[str, str] = os.environ,
    platform: str = sys.platform,
    has: Callable[[str], bool] = loads,
    answer: Callable[[str], bool] = answers,
) -> None:
    """See that a window can open. Raises `DeskError`: one sentence on what is missing."""
    if platform != "linux":
        return
    chosen = environment.get("QT_QPA_PLATFORM", "").partition(":")[0].partition(";")[0]
    if chosen in _WINDOWLESS:
        check_drawing(platform, has)
        return
    display = environment.get("DISPLAY", "")
    is_wayland = bool(environment.get("WAYLAND_DISPLAY")) and chosen != "xcb"
    if not is_wayland and not display:
        raise DeskError(
            "There is no screen to open the desk on; start it from a desktop, or use a command: "
            "“gaugebench --help” lists them."
        )
    check_drawing(platform, has, () if is_wayland else WINDOW)
    if not is_wayland and not answer(display):
        raise DeskError(
            f"The screen “{display}” (DISPLAY) does not let the desk in; start it as the user who "
            "is logged in there."
        )
