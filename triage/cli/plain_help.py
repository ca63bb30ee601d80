"""A command's declarations in, its options in plain words out: for --help and docs/options.md."""

from __future__ import annotations

import inspect
import types
from datetime import datetime
from pathlib import Path
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

import typer

TAKES = {str: "TEXT", int: "NUMBER", float: "NUMBER", Path: "PATH", datetime: "YYYY-MM-DD"}


class PlainCommand(typer.core.TyperCommand):
    """A command whose help has no word of a programming language."""

    def collect_usage_pieces(self, ctx: Any) -> list[str]:
        """The words behind the command's name: what must be typed, and in brackets what may."""
        del ctx
        arguments = [one for one in self.params if one.param_type_name == "argument"]
        shown = (_argument(one) if one.required else f"[{_argument(one)}]" for one in arguments)
        return ["[OPTIONS]", *shown]

    def format_options(self, ctx: Any, formatter: Any) -> None:
        """Write arguments and options, each with its sentence."""
        rows = [*told_of(self), ("--help", "Show this message and exit.")]
        arguments = [row for row in rows if not row[0].startswith("-")]
        for title, part in (("Arguments", arguments), ("Options", rows[len(arguments) :])):
            if part:
                with formatter.section(title):
                    formatter.write_dl(part)


def told_of(command: Any) -> list[tuple[str, str]]:
    """How each argument and option of a command is typed, and what it is for."""
    hints = get_type_hints(inspect.unwrap(command.callback))
    told = []
    for one in command.params:
        if one.name == "help":
            continue
        if one.param_type_name == "argument":
            how = _argument(one)
        else:
            how = f"{', '.join([*one.opts, *one.secondary_opts])} {takes(hints[one.name])}".strip()
        told.append((how, f"{one.help}{_ending(one)}"))
    return told


def takes(kind: Any) -> str:
    """The words that stand behind an option for what is typed there; none for a switch."""
    inner = [one for one in get_args(kind) if one is not type(None)]
    if get_origin(kind) in (Union, types.UnionType):
        return takes(inner[0])
    if get_origin(kind) is Literal:
        return "|".join(inner)
    if get_origin(kind) in (tuple, list):
        return " ".join(takes(one) for one in inner)
    return TAKES.get(kind, "")


def _argument(one: Any) -> str:
    return f"{one.name.upper()}{'...' if one.nargs != 1 else ''}"


def _ending(one: Any) -> str:
    if one.required:
        return " Required."
    if isinstance(one.default, bool | None | Path) or one.default in ("", 0):
        return ""
    shown = f"{one.default:g}" if isinstance(one.default, float) else one.default
    return f" Without it: {shown}."
