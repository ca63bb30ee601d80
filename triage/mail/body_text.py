"""Make readable lines and links of a mail's text (plain, format=flowed, HTML).

RFC 3676 for format=flowed and DelSp. HTML is only ever read as text: nothing is fetched, run or
shown, and what a reader of the mail would not see (styles, scripts, comments) is left out.
"""

from __future__ import annotations

import html
import re
from collections.abc import Iterable

from triage.standards.data_files import toml_of

TEXT_CHARACTERS = 2_000_000  # of one text part; a longer one is a file, not a letter

_TAG = re.compile(
    r"(?s)<(?:!--.*?(?:-->|\Z)|(/?)([a-zA-Z][a-zA-Z0-9:]*)([^>]*)(?:>|\Z)|[!?][^>]*(?:>|\Z))"
)
_HREF = re.compile(r"""(?i)\bhref\s*=\s*("[^"]{0,2000}"|'[^']{0,2000}'|[^\s"'>]{1,2000})""")
_URL = re.compile(r"(?i)\bhttps?://[^\s<>\"'\u00a0]{3,2000}")
_BLOCKS = frozenset(
    {"address", "article", "aside", "blockquote", "body", "br", "center", "dd", "div", "dl", "dt"}
    | {"footer", "form", "h1", "h2", "h3", "h4", "h5", "h6", "header", "hr", "li", "main", "nav"}
    | {"ol", "p", "pre", "section", "table", "tbody", "tfoot", "thead", "tr", "ul"}
)
_HIDDEN = frozenset(("head", "script", "style", "title", "template", "noscript"))
_QUOTE_DEPTH = 30
_ATTRIBUTES = 5000  # characters of one tag that are looked at


def unflow(text: str, *, delete_space: bool) -> str:
    """Join the soft line breaks of format=flowed; quoted lines keep one ``> `` a level.

    Examples
    --------
    >>> unflow("Seen at \\nAlder Pool.\\n-- \\nAda", delete_space=False)
    'Seen at Alder Pool.\\n-- \\nAda'
    """
    out: list[str] = []
    held: list[str] = []
    held_depth = 0
    for line in text.splitlines():
        stripped = line.lstrip(">")
        depth = len(line) - len(stripped)
        stripped = stripped.removeprefix(" ")
        if held and (depth != held_depth or stripped == "-- "):
            out.append(_quoted(held_depth, "".join(held)))
            held = []
        if stripped.endswith(" ") and stripped != "-- ":
            held.append(stripped[:-1] if delete_space else stripped)
            held_depth = depth
            continue
        out.append(_quoted(depth, "".join(held) + stripped))
        held = []
    if held:
        out.append(_quoted(held_depth, "".join(held)))
    return "\n".join(out)


def text_of_html(source: str) -> tuple[str, list[str]]:
    """Return the text that a reader of this HTML sees, and the addresses its author links to.

    Addresses in quoted text are left out: they belong to an earlier mail.

    Examples
    --------
    >>> text_of_html("<p>Seen at <b>Alder&nbsp;Pool</b><blockquote>old")[0]
    'Seen at Alder Pool\\n> old'
    """
    lines: list[str] = []
    pieces: list[str] = []
    links: list[str] = []
    depth = 0
    hidden = ""
    position = 0

    def end_line() -> None:
        line = " ".join(html.unescape("".join(pieces)).replace("\xa0", " ").split())
        pieces.clear()
        if line or (lines and lines[-1].strip("> ")):
            lines.append(_quoted(depth, line))

    for match in _TAG.finditer(source[:TEXT_CHARACTERS]):
        if not hidden:
            pieces.append(source[position : match.start()])
        position = match.end()
        closing, tag = match[1] == "/", (match[2] or "").lower()
        if hidden:
            hidden = "" if closing and tag == hidden else hidden
            continue
        if tag in _HIDDEN and not closing and not match[3].endswith("/"):
            hidden = tag
        elif tag == "blockquote":
            end_line()
            depth = max(0, depth - 1) if closing else min(_QUOTE_DEPTH, depth + 1)
        elif tag in _BLOCKS:
            end_line()
        elif tag in ("td", "th"):
            pieces.append(" ")
        elif (
            tag == "a"
            and not closing
            and not depth
            and (found := _HREF.search(match[3][:_ATTRIBUTES]))
        ):
            links.append(html.unescape(found[1].strip("\"' ")))
    if not hidden:
        pieces.append(source[position:TEXT_CHARACTERS])
    end_line()
    return "\n".join(lines).strip("\n"), links


def find_links(text: str) -> list[str]:
    """Return the web addresses written in a text, without the stop that ends the sentence."""
    return [match[0].rstrip(".,;:!?)]}>*_'\u2019\u201d") for match in _URL.finditer(text)]


# Hosts that share pictures or files; an address there most likely leads to photos that the
# sender could not attach. Common practice, no source; anything else with a word of _ALBUM_WORDS
# in its path counts too.
_SHARING_HOSTS = toml_of("triage.mail", "sharing_hosts.toml")["hosts"]
_ALBUM_WORDS = re.compile(
    r"(?i)[/=?_-](?:albums?|photos?|fotos?|galler(?:y|ies)|galerie|galeria|bilder|zdjecia|pictures?"
    r"|images?|shared?|freigabe)(?:[/=?_-]|$)|\.(?:jpe?g|heic|png|tiff?)(?:\?|$)"
)


def worth_following(links: Iterable[str], *, brought: bool) -> list[str]:
    """The links that may be a photo; without any photo in the mail, any address may be one."""
    return [
        link
        for link in links
        if leads_to_pictures(link) or (not brought and link.lower().startswith("http"))
    ]


def leads_to_pictures(link: str) -> bool:
    """Tell whether a web address looks like an online album or shared file.

    Examples
    --------
    >>> leads_to_pictures("https://cloud.example.org/s/album/42")
    True
    >>> leads_to_pictures("https://www.example.org/about")
    False
    """
    match = re.match(r"(?i)https?://([^/?#]*)([^\s]*)", link)
    if not match:
        return False
    host, rest = match[1].lower().rpartition("@")[2].partition(":")[0], match[2]
    for known in _SHARING_HOSTS:
        named = "." not in known and known in host
        if named or host == known or host.endswith("." + known):
            return len(rest.strip("/")) > 0
    return bool(_ALBUM_WORDS.search(rest))


def _quoted(depth: int, line: str) -> str:
    return f"{'>' * depth} {line}" if depth else line
