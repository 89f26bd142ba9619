"""References of the rule language: ``press.sheet.largest``, ``ticket.ink_system``, ``job.artwork_is``.

A reference is checked against the types when rules are loaded, and looked up when a job is judged.
"""

from __future__ import annotations

import re
import types
from dataclasses import dataclass, field, fields, is_dataclass
from typing import Annotated, Any, Final, Literal, Union, get_args, get_origin, get_type_hints

from pydantic import BaseModel

from preflight.errors import NotMeasured, NotUnderstood, WantOf
from preflight.inputs.fields import Parsed
from preflight.inputs.press import Press
from preflight.inputs.ticket import Ticket
from preflight.job import Job
from preflight.quantities import Range, Size
from preflight.suggest import nearest

ROOTS: Final[dict[str, type]] = {"press": Press, "ticket": Ticket, "job": Job}
WRITTEN_AS: Final = {
    "ticket.sheet": "sheet.size",
    "ticket.nothing_coated": "coating",
    "press.unit_count": "units",
    "press.name": "press",
}
"""Keys of the YAML files where they differ from the attribute."""
_VALUES: Final = (str, int, float, bool, Size, Range)
_PATTERN: Final = re.compile(r"(?:press|ticket|job)(?:\.\w+)+")


@dataclass(frozen=True)
class Reference:
    """A dotted path from press, ticket or job to one value."""

    text: str
    kind: Any = field(default=object, compare=False)
    """Type of the value: str, int, float, bool, Size, Range, a Literal or a tuple of texts."""
    parsed: Parsed | None = field(default=None, compare=False, repr=False)
    """How the value is read where somebody writes it; None where nobody does."""

    @property
    def root(self) -> str:
        """``press``, ``ticket`` or ``job``."""
        return self.text.partition(".")[0]

    @property
    def unit(self) -> str:
        """Unit of the value, empty where it has none."""
        return self.parsed.unit if self.parsed else "mm" if self.kind in (Size, Range) else ""

    @property
    def written_as(self) -> str:
        """The key as it stands in the YAML file."""
        return WRITTEN_AS.get(self.text, self.text.partition(".")[2])


def is_reference(text: str) -> bool:
    """Whether a right-hand side is meant as a reference and not as a word."""
    return bool(_PATTERN.fullmatch(text))


def reference(text: object) -> Reference:
    """Read a reference; raises NotUnderstood on one that leads nowhere or to more than a value."""
    if not isinstance(text, str) or not is_reference(text):
        raise NotUnderstood("a reference that starts with press., ticket. or job.")
    root, *steps = text.split(".")
    here: Any = ROOTS[root]
    for number, step in enumerate(steps):
        inner = _fields(here)
        if step not in inner:
            so_far = ".".join([root, *steps[:number]])
            inner = {name: kind for name, kind in inner.items() if _leads_to_a_value(kind)}
            near = nearest(step, inner)
            hint = ".".join([so_far, near, *steps[number + 1 :]]) if near else ""
            raise NotUnderstood(f"a field of {so_far} ({', '.join(sorted(inner)) or 'it has none'})", hint)
        here = inner[step]
    if not _is_value(here):
        raise NotUnderstood(f"a single value ({text} holds {', '.join(sorted(_fields(here))) or 'more than one'})")
    return Reference(text, _bare(here), _parsed(here))


def look_up(job: Job, ref: Reference) -> Any:
    """The value that a reference stands for on this job.

    Raises:
        NotMeasured: the press profile, the ticket, or the key in it is missing.
    """
    here: Any = job
    for step in ref.text.split(".")[1 if ref.root == "job" else 0 :]:
        here = None if here is None else getattr(here, step)
    if here is None:
        raise _missing(job, ref)
    return here


def is_guess(job: Job, ref: Reference) -> bool:
    """Whether the value is a guess: the job says so in ``<field>_known``."""
    return ref.root == "job" and getattr(job, f"{ref.text.rpartition('.')[2]}_known", "read") == "assumed"


def _missing(job: Job, ref: Reference) -> NotMeasured:
    file = {"press": "press profile", "ticket": "ticket", "job": "job"}[ref.root]
    want_of: WantOf = "press" if ref.root == "press" else "ticket"
    if ref.root != "job" and getattr(job, ref.root) is None:
        return NotMeasured(f"there is no {file}", f"a {file} with {ref.written_as}", want_of)
    named = job.ticket.press if job.ticket and ref.root == "press" else None
    where = f"{file} ({named.name})" if named else file
    return NotMeasured(f"the {where} does not say {ref.written_as}", f"give {ref.written_as} in the {where}", want_of)


def _fields(kind: Any) -> dict[str, Any]:
    """Fields and properties of a class with their types; none for anything else."""
    kind = _bare(kind)
    if not isinstance(kind, type) or not (issubclass(kind, BaseModel) or is_dataclass(kind)) or kind in _VALUES:
        return {}
    try:
        hints = get_type_hints(kind, include_extras=True)
    except NameError:  # types that are imported for the type checker only: nothing to refer to
        return {}
    names = _keys_of(kind) if issubclass(kind, BaseModel) else [column.name for column in fields(kind)]
    found = {name: hints[name] for name in names}
    for name in dir(kind):
        value = getattr(kind, name, None)
        if isinstance(value, property) and not name.startswith(("_", "model_")) and value.fget is not None:
            found[name] = get_type_hints(value.fget, include_extras=True).get("return", object)
    return found


def _keys_of(model: type[BaseModel]) -> list[str]:
    """Fields of a model; a property that is called as the key in the file stands for the field that holds the key."""
    return [
        name
        for name, info in model.model_fields.items()
        if not (info.alias and info.alias != name and isinstance(getattr(model, info.alias, None), property))
    ]


def _leads_to_a_value(kind: Any) -> bool:
    """Whether there is anything at or below a field that may be referred to."""
    return _is_value(kind) or any(_leads_to_a_value(inner) for inner in _fields(kind).values())


def _bare(kind: Any) -> Any:
    """The type without ``None`` and ``Annotated``."""
    if get_origin(kind) is Annotated:
        return _bare(get_args(kind)[0])
    if get_origin(kind) in (Union, types.UnionType):
        inner = [option for option in get_args(kind) if option is not type(None)]
        return _bare(inner[0]) if len(inner) == 1 else kind
    return kind


def _parsed(kind: Any) -> Parsed | None:
    """How a field is read, by its annotation."""
    if get_origin(kind) is Annotated:
        inner, *notes = get_args(kind)
        return next((note for note in notes if isinstance(note, Parsed)), None) or _parsed(inner)
    if get_origin(kind) in (Union, types.UnionType):
        return next((found for option in get_args(kind) if (found := _parsed(option))), None)
    return None


def _is_value(kind: Any) -> bool:
    kind = _bare(kind)
    if get_origin(kind) in (tuple, frozenset):
        return get_args(kind)[0] is str
    return kind in _VALUES or get_origin(kind) is Literal
