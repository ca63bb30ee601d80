"""Records become rows and rows become records again, by the names and types of their fields.

Texts, numbers and bytes stand as they are, truth values as 0 or 1, instants as ISO 8601 text, and
tuples, dictionaries or records inside a record as JSON text. This is the only place that knows.
"""

from __future__ import annotations

import dataclasses
import json
import sqlite3
from collections.abc import Callable, Mapping
from datetime import datetime
from functools import cache, partial
from types import NoneType, UnionType
from typing import (
    Any,
    Literal,
    NamedTuple,
    TypeVar,
    Union,
    cast,
    get_args,
    get_origin,
    get_type_hints,
)

Record = TypeVar("Record")
Function = TypeVar("Function", bound=Callable[..., Any])
_Places = tuple[list[tuple[str, int, str | None]], list[tuple[str, int, Callable[[Any], Any]]]]


_PLAIN = (str, int, float, bytes)  # kept as they are; numpy's kin become these
_NESTED = (tuple, dict)


def _remembered(function: Function) -> Function:
    """As `functools.cache`; mypy does not take types for hashable."""
    return cast(Function, cache(function))


class _Shape(NamedTuple):
    kind: type
    optional: bool
    record: bool
    plain: type | None  # the type whose values are kept as they are


_Fields = tuple[list[tuple[str, str | None]], list[tuple[str, _Shape]]]


def values_of(record: Any) -> dict[str, Any]:
    """Column by column what SQLite keeps of a record; numbers of numpy become plain ones."""
    found = {}
    for name, shape in _shapes(type(record)).items():
        value = getattr(record, name)
        found[name] = value if type(value) is shape.plain else _stored(value, shape)
    return found


def record_of(kind: type[Record], row: sqlite3.Row | Mapping[str, Any], **known: Any) -> Record:
    """Make the record that a row keeps.

    A field named ``person`` reads the column ``person_id`` where there is none of its own name. A
    column of another name is left out, a field without a column takes what is ``known`` or its
    default, and null in a column of texts is no text.
    """
    values = tuple(row.values() if isinstance(row, Mapping) else row)
    plain, others = _places(kind, tuple(row.keys()), tuple(known))
    found = {
        name: missing if values[place] is None else values[place] for name, place, missing in plain
    }
    for name, place, read in others:
        found[name] = read(values[place])
    return kind(**found, **known)


def json_of(record: Any) -> str:
    """Write a record as one JSON object, its fields in the order of the alphabet."""
    values = {name: _plain(getattr(record, name)) for name in _shapes(type(record))}
    return json.dumps(values, ensure_ascii=False, sort_keys=True)


def record_of_json(kind: type[Record], text: str) -> Record:
    """Make the record that was written as JSON; fields of another version are left out."""
    values = json.loads(text)
    plain, others = _fields_of_json(kind)
    found = {
        name: missing if values[name] is None else values[name]
        for name, missing in plain
        if name in values
    }
    for name, shape in others:
        if name in values:
            found[name] = _typed(values[name], shape)
    return kind(**found)


def holds(action: str = "action_id") -> str:
    """The condition that the action of a column was not taken back; looked up row by row."""
    return f"exists (select 1 from live_actions l where l.id = {action})"


def derived_or_holds(action: str = "action_id") -> str:
    """The condition that a row was computed, or that its action was not taken back."""
    return f"({action} is null or {holds(action)})"


@_remembered
def _places(kind: Any, columns: tuple[str, ...], known: tuple[str, ...]) -> _Places:
    """Where in such rows the fields stand: by number, since a row looks for a name from the front.

    First those that stand as they are, with what null means; then those that are read.
    """
    plain: list[tuple[str, int, str | None]] = []
    others: list[tuple[str, int, Callable[[Any], Any]]] = []
    for name, shape in _shapes(kind).items():
        column = name if name in columns else f"{name}_id"
        if column not in columns or name in known:
            continue
        if shape.plain:
            plain.append((name, columns.index(column), _null_of(shape)))
        else:
            others.append((name, columns.index(column), partial(_read, shape=shape)))
    return plain, others


@_remembered
def _fields_of_json(kind: Any) -> _Fields:
    """The fields that stand in JSON as they are, with what null means; then those to be read."""
    shapes = _shapes(kind)
    plain = [(name, _null_of(shape)) for name, shape in shapes.items() if shape.plain]
    return plain, [(name, shape) for name, shape in shapes.items() if not shape.plain]


def _null_of(shape: _Shape) -> str | None:
    return "" if shape.plain is str and not shape.optional else None


@_remembered
def _shapes(kind: Any) -> dict[str, _Shape]:
    hints = get_type_hints(kind)
    return {field.name: _shape(hints[field.name]) for field in dataclasses.fields(kind)}


def _shape(hint: Any) -> _Shape:
    origin = get_origin(hint)
    if origin in (Union, UnionType):
        inner = [one for one in get_args(hint) if one is not NoneType]
        return _shape(inner[0])._replace(optional=len(inner) < len(get_args(hint)))
    if origin is Literal:
        return _shape(str)
    known = origin or hint
    return _Shape(
        kind=known,
        optional=False,
        record=dataclasses.is_dataclass(known),
        plain=known if known in _PLAIN else None,
    )


def _stored(value: Any, shape: _Shape) -> Any:
    if shape.kind in _NESTED or shape.record:
        return json.dumps(_plain(value), ensure_ascii=False)
    if value is None:
        return None
    if shape.kind is datetime:
        return value.isoformat()
    return int(value) if shape.kind is bool else shape.kind(value)


def _read(value: Any, shape: _Shape) -> Any:
    if shape.kind in _NESTED or shape.record:
        value = [] if value == "[]" else json.loads(value or "null")
    return _typed(value, shape)


def _typed(value: Any, shape: _Shape) -> Any:
    """A value as JSON or SQLite has it, as the field wants it."""
    if shape.kind is tuple:
        return () if value is None and not shape.optional else _tupled(value)
    if value is None:
        return "" if shape.kind is str and not shape.optional else None
    if shape.record:
        shapes = _shapes(shape.kind)
        return shape.kind(**{n: _typed(v, shapes[n]) for n, v in value.items() if n in shapes})
    if shape.kind is datetime:
        return datetime.fromisoformat(value)
    return bool(value) if shape.kind is bool else value


def _tupled(value: Any) -> Any:
    return tuple(map(_tupled, value)) if isinstance(value, list) else value


def _plain(value: Any) -> Any:
    if dataclasses.is_dataclass(value):
        return {
            field.name: _plain(getattr(value, field.name)) for field in dataclasses.fields(value)
        }
    if isinstance(value, tuple | list):
        return [_plain(one) for one in value]
    if isinstance(value, dict):
        return {name: _plain(one) for name, one in sorted(value.items())}
    return value.isoformat() if isinstance(value, datetime) else value
