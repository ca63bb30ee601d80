"""Make a stranger's file name safe to show and to store."""

from __future__ import annotations

import re
import unicodedata

NAME_LENGTH = 120  # characters; file systems allow 255 bytes, and a character may take four

_RESERVED = re.compile(r"(?i)^(con|prn|aux|nul|com[0-9¹²³]|lpt[0-9¹²³]|conin\$|conout\$)(?=\.|$)")
_FORBIDDEN = re.compile(r'[<>:"|?*]')


def safe_file_name(name: str) -> str:
    """Make a name harmless: no folders, control or direction characters, reserved device names.

    An empty name stays empty. Windows' rules are kept everywhere, because surveys are copied
    between machines (Microsoft, "Naming Files, Paths, and Namespaces").

    Examples
    --------
    >>> safe_file_name("../../etc/passwd")
    'passwd'
    >>> safe_file_name("photo\\u202egpj.exe")
    'photogpj.exe'
    >>> safe_file_name("CON.jpg")
    '_CON.jpg'
    """
    name = unicodedata.normalize("NFC", name)
    name = re.split(r"[/\\]", name)[-1]
    name = "".join(c for c in name if unicodedata.category(c) not in ("Cc", "Cf", "Cs", "Zl", "Zp"))
    name = _FORBIDDEN.sub("_", name).strip(" ")
    name = name.rstrip(". ")
    if _RESERVED.match(name):
        name = "_" + name
    return _shortened(name)


def safe_inner_path(name: str) -> str:
    """Make the path of a file in an archive harmless, keeping its harmless folders.

    Examples
    --------
    >>> safe_inner_path("..\\\\..\\\\Pond/IMG_1.jpg")
    'Pond/IMG_1.jpg'
    """
    steps = [safe_file_name(step) for step in re.split(r"[/\\]", name)]
    return "/".join(step for step in steps[-8:] if step)


def file_stem(name: str) -> str:
    """Return the name without its last suffix, folded for comparison.

    Examples
    --------
    >>> file_stem("IMG_0042.HEIC")
    'img_0042'
    """
    return name.rpartition(".")[0].casefold() or name.casefold()


def _shortened(name: str) -> str:
    if len(name) <= NAME_LENGTH:
        return name
    stem, dot, suffix = name.rpartition(".")
    if not dot or len(suffix) > 10:
        return name[:NAME_LENGTH]
    return stem[: NAME_LENGTH - len(suffix) - 1] + dot + suffix
