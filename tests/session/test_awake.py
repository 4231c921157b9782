from __future__ import annotations

from collections.abc import Sequence

import pytest

from gaugebench.session.awake import Awake, holding_command


class Holder:
    def __init__(self, command: Sequence[str]) -> None:
        self.command = list(command)
        self.ended = False

    def terminate(self) -> None:
        self.ended = True

    def wait(self, timeout: float | None = None) -> int:
        assert self.ended
        return 0


def test_the_holder_lives_as_long_as_the_record() -> None:
    held: list[Holder] = []

    def start(command: Sequence[str]) -> Holder:
        held.append(Holder(command))
        return held[-1]

    awake = Awake("linux", lambda name: f"/usr/bin/{name}", start)
    awake.begin()
    assert "stay awake" in awake.words
    assert held[0].command[0] == "/usr/bin/systemd-inhibit"
    assert held[0].command[-2:] == ["/usr/bin/sleep", "infinity"]
    awake.end()
    awake.end()
    assert held[0].ended
    assert len(held) == 1


@pytest.mark.parametrize(
    ("platform", "there", "expected"),
    [
        ("darwin", {"caffeinate"}, "caffeinate"),
        ("linux", {"systemd-inhibit", "sleep"}, "systemd-inhibit"),
        ("linux", set(), None),
        ("linux", {"systemd-inhibit"}, None),
        ("freebsd14", {"systemd-inhibit", "sleep"}, None),
    ],
)
def test_each_platform_by_its_own_means(
    platform: str, there: set[str], expected: str | None
) -> None:
    command = holding_command(platform, lambda name: name if name in there else None)
    assert (command[0] if command else None) == expected


def test_where_nothing_can_be_done_it_is_said_and_the_record_goes_on() -> None:
    def refuse(_: Sequence[str]) -> Holder:
        raise PermissionError(13, "Permission denied")

    without = Awake("linux", lambda _: None)
    without.begin()
    assert "by hand" in without.words
    refused = Awake("linux", lambda name: name, refuse)
    refused.begin()
    assert "Permission denied" in refused.words
    refused.end()
