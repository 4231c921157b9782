"""A report in a language: every text of its blocks said, whatever it is written as afterwards."""

from __future__ import annotations

from dataclasses import replace

from gaugebench.report.blocks import (
    Block,
    Chart,
    Data,
    Heading,
    PageEnd,
    Pairs,
    Report,
    Signatures,
    Table,
    Text,
)
from gaugebench.report.speech import Speech
from gaugebench.report.writer import Writer


def spoken(report: Report, speech: Speech) -> Report:
    """The report with every text in a language. Plain numbers of a workbook stay numbers."""
    said = speech.said
    return Report(
        title=said(report.title),
        blocks=tuple(_Said(speech).write(report.blocks)),
        footer=said(report.footer),
        banner=said(report.banner),
        speech=speech,
    )


class _Said(Writer[Block]):
    def __init__(self, speech: Speech) -> None:
        self.said = speech.said

    def _all(self, texts: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(self.said(text) for text in texts)

    def heading(self, block: Heading) -> Block:
        return replace(block, text=self.said(block.text))

    def pairs(self, block: Pairs) -> Block:
        return Pairs(tuple((self.said(name), self.said(value)) for name, value in block.rows))

    def text(self, block: Text) -> Block:
        return replace(block, text=self.said(block.text))

    def table(self, block: Table) -> Block:
        return replace(
            block,
            name=self.said(block.name),
            head=self._all(block.head),
            rows=tuple(
                tuple(replace(cell, text=self.said(cell.text)) for cell in row)
                for row in block.rows
            ),
        )

    def chart(self, block: Chart) -> Block:
        return replace(
            block,
            title=self.said(block.title),
            lines=tuple(replace(line, label=self.said(line.label)) for line in block.lines),
            x_label=self.said(block.x_label),
            y_label=self.said(block.y_label),
        )

    def signatures(self, block: Signatures) -> Block:
        return Signatures(
            tuple((self.said(who), self.said(name), self.said(at)) for who, name, at in block.lines)
        )

    def page_end(self) -> Block:
        return PageEnd()

    def data(self, block: Data) -> Block:
        return Data(
            name=self.said(block.name),
            head=self._all(block.head),
            rows=tuple(
                tuple(self.said(value) if isinstance(value, str) else value for value in row)
                for row in block.rows
            ),
        )
