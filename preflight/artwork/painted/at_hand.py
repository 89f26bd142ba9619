"""What every operator works on: the stream at hand, its graphics state, its rows, its resources."""

from __future__ import annotations

import re

from pikepdf import Dictionary, Object

from preflight.artwork.colour.colours import ColourSpace
from preflight.artwork.matrices import Matrix
from preflight.artwork.objects import Box
from preflight.artwork.painted.content import Content
from preflight.artwork.painted.interpret import Interpreter
from preflight.artwork.painted.rows import PathBoxes, Rows
from preflight.artwork.painted.scan import NAME, Chunk
from preflight.artwork.painted.states import GraphicsState
from preflight.artwork.structure.values import lookup

_HEX_IN_NAME = re.compile(rb"#([0-9A-Fa-f]{2})")


class StreamAtHand:
    """One content stream while it is being read."""

    def __init__(self, owner: Interpreter, content: Content, state: GraphicsState, layer: int, hidden: bool) -> None:
        self.owner = owner
        self.content = content
        self.state = state
        self.stack: list[GraphicsState] = []
        self.saved_at: list[int] = []
        """Where each state on the stack was saved."""
        self.marks: list[tuple[int, bool]] = []
        self.layer, self.hidden = layer, hidden
        self.outer = (layer, hidden)
        self.resources: dict[tuple[str, str], Object | None] = {}
        self.spaces: dict[str, ColourSpace] = {}
        self.text_matrix: Matrix = (1, 0, 0, 1, 0, 0)
        self.line_matrix: Matrix = (1, 0, 0, 1, 0, 0)
        self.rows = Rows()
        self.chunk: Chunk
        self.boxes: PathBoxes
        self.operator = self.begin = self.word = self.end = 0
        """The operator at hand: its number in the chunk, first byte of its operands, its own first byte, its end."""
        self.path_from = 0
        self.path_byte = -1
        self.carried: Box | None = None
        """Box of the part of the current path that stands in earlier chunks."""
        self.clip_pending = False

    def _row(
        self, painted: int, colour: int, frame: Matrix, *, path: tuple[int, int] = (0, 0), stroked: bool = False,
        box: Box | None = None, font: int = -1, image: int = -1,
    ) -> int:  # fmt: skip
        number = self._state_number()
        self.owner.rows_read += 1
        return self.rows.add(
            painted, number, colour, frame, self.layer, self.hidden, path=path, stroked=stroked, box=box,
            font=font, image=image,
        )  # fmt: skip

    def _state_number(self) -> int:
        if self.state.number < 0:
            self.state.number = self.owner.state_number(self.state)
        return self.state.number

    def _edit(self, kind: int, a: int = -1, b: int = -1, path_start: int = -1) -> None:
        """The current operator and its operands are to be written anew."""
        self.rows.edits.append((self.begin, self.end, kind, a, b, path_start))

    def _name(self, token: int) -> str | None:
        if token < 0 or self.chunk.kind[token] != NAME:
            return None
        raw = self.content.data[self.chunk.start[token] : self.chunk.end[token]]
        if b"#" in raw:
            raw = _HEX_IN_NAME.sub(lambda match: bytes([int(match[1], 16)]), raw)
        return raw.decode("utf-8", "surrogateescape")

    def _resource(self, category: str, name: str | None) -> Object | None:
        if name is None:
            return None
        key = (category, name)
        if key not in self.resources:
            self.resources[key] = _find_resource(self.content.resources, category, name)
        return self.resources[key]


def _find_resource(resources: Object, category: str, name: str) -> Object | None:
    if not isinstance(resources, Dictionary):
        return None
    return lookup(resources.get(category, None), name)  # type: ignore[no-any-return]
