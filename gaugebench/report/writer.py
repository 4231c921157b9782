"""One way from blocks to a page: what each kind of page says of each kind of block."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterable
from typing import Generic, TypeVar

from gaugebench.report.blocks import (
    Block,
    Chart,
    Data,
    Heading,
    PageEnd,
    Pairs,
    Signatures,
    Table,
    Text,
)

T = TypeVar("T")


class Writer(ABC, Generic[T]):
    """What a block becomes. A kind of page says so for each kind of block, or it is no writer."""

    def write(self, blocks: Iterable[Block]) -> list[T]:
        """Every block, in order."""
        return [self._one(block) for block in blocks]

    def _one(self, block: Block) -> T:
        match block:
            case Heading():
                return self.heading(block)
            case Pairs():
                return self.pairs(block)
            case Text():
                return self.text(block)
            case Table():
                return self.table(block)
            case Chart():
                return self.chart(block)
            case Signatures():
                return self.signatures(block)
            case PageEnd():
                return self.page_end()
            case Data():
                return self.data(block)

    @abstractmethod
    def heading(self, block: Heading) -> T:
        """A heading; level 0 is the report's title."""

    @abstractmethod
    def pairs(self, block: Pairs) -> T:
        """Names and what they are."""

    @abstractmethod
    def text(self, block: Text) -> T:
        """A paragraph."""

    @abstractmethod
    def table(self, block: Table) -> T:
        """A table."""

    @abstractmethod
    def chart(self, block: Chart) -> T:
        """A chart."""

    @abstractmethod
    def signatures(self, block: Signatures) -> T:
        """Lines to sign on."""

    @abstractmethod
    def page_end(self) -> T:
        """What follows begins on a new page."""

    @abstractmethod
    def data(self, block: Data) -> T:
        """Plain numbers."""
