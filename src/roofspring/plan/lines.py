"""Where each key of a TOML text stands, and its value as written.

The parsers give values without places, so this walks the text once more. It expects a text that a
TOML parser has accepted; on any other text it stops early and returns what it has.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass

KeyPath = tuple[str | int, ...]

_ESCAPES = {"b": "\b", "t": "\t", "n": "\n", "f": "\f", "r": "\r"}


@dataclass(frozen=True)
class Place:
    """The line of a key (from 1) and the text of its value; a table header has no value text."""

    line: int
    text: str = ""


def line_map(text: str) -> dict[KeyPath, Place]:
    """Place of every key, table, array element and inline key of a TOML text.

    Parameters
    ----------
    text : str
        A valid TOML text.

    Returns
    -------
    dict of tuple to Place
        Keys are paths such as ``("tank", "raw", "volume")``; array elements add their index.
        Tables that are only implied stand where they are first implied.

    Examples
    --------
    >>> line_map('[tank.raw]\\nvolume = "1 m3"  # new')["tank", "raw", "volume"]
    Place(line=2, text='"1 m3"')
    """
    walker = _Walker(text)
    walker.document()
    return walker.places


class _Walker:
    """One pass over the text. Every step moves forward, so it ends on any text."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.places: dict[KeyPath, Place] = {}
        self._starts = [0, *(i + 1 for i, c in enumerate(text) if c == "\n")]
        self._last_index: dict[KeyPath, int] = {}

    def document(self) -> None:
        table: KeyPath = ()
        while self._skip_blank():
            start = self.at
            if self._take("[["):
                table = self._array_header(self._keys(), start)
            elif self._take("["):
                table = self._resolved(self._keys())
                self._note(table, start)
            elif not self._pair(table):
                return
            self._to_line_end()

    def _array_header(self, keys: KeyPath, start: int) -> KeyPath:
        path = self._resolved(keys[:-1]) + keys[-1:]
        index = self._last_index.get(path, -1) + 1
        self._last_index[path] = index
        self._note((*path, index), start)
        return (*path, index)

    def _resolved(self, keys: KeyPath) -> KeyPath:
        """A header's keys, with the index of the newest element after each array of tables."""
        path: KeyPath = ()
        for key in keys:
            path = (*path, key)
            if path in self._last_index:
                path = (*path, self._last_index[path])
        return path

    def _note(self, path: KeyPath, start: int, *, text: str = "") -> None:
        line = bisect_right(self._starts, start)
        for depth in range(1, len(path)):
            self.places.setdefault(path[:depth], Place(line))
        self.places[path] = Place(line, text)

    def _pair(self, table: KeyPath) -> bool:
        """``key = value``; False when there is none here."""
        start = self.at
        keys = self._keys()
        if not keys or not self._take("="):
            return False
        path = table + keys
        self._blank_within_line()
        value = self.at
        self._value(path)
        self._note(path, start, text=self.text[value : self.at])
        return True

    def _value(self, path: KeyPath) -> None:
        here = self.text[self.at : self.at + 1]
        if here in ('"', "'"):
            self._string()
        elif here == "[":
            self._array(path)
        elif here == "{":
            self._inline_table(path)
        else:
            start = self.at
            while self.at < len(self.text) and self.text[self.at] not in ",]}#\r\n":
                self.at += 1
            self.at = start + len(self.text[start : self.at].rstrip())

    def _array(self, path: KeyPath) -> None:
        self.at += 1
        index = 0
        while self._skip_blank() and not self._take("]"):
            start = self.at
            self._value((*path, index))
            self._note((*path, index), start, text=self.text[start : self.at])
            index += 1
            self._skip_blank()
            if not self._take(",") and self.at == start:
                return

    def _inline_table(self, path: KeyPath) -> None:
        self.at += 1
        while self._skip_blank() and not self._take("}"):
            if not self._pair(path):
                return
            self._skip_blank()
            self._take(",")

    def _keys(self) -> KeyPath:
        """The parts of a dotted key, up to ``=`` or ``]``."""
        keys: list[str] = []
        while True:
            self._blank_within_line()
            start = self.at
            if self.text[start : start + 1] in ('"', "'"):
                keys.append(self._string())
            else:
                while self._is_bare(self.text[self.at : self.at + 1]):
                    self.at += 1
                if self.at == start:
                    return ()
                keys.append(self.text[start : self.at])
            self._blank_within_line()
            if not self._take("."):
                return tuple(keys)

    @staticmethod
    def _is_bare(char: str) -> bool:
        return char.isascii() and (char.isalnum() or char in ("-", "_"))

    def _string(self) -> str:
        """One string of any of the four forms; its content, with escapes read."""
        quote = self.text[self.at]
        if self.text.startswith(quote * 3, self.at):
            return self._long_string(quote)
        self.at += 1
        start = self.at
        while self.at < len(self.text) and self.text[self.at] != quote:
            self.at += 2 if quote == '"' and self.text[self.at] == "\\" else 1
        content = self.text[start : self.at]
        self.at += 1
        return _unescaped(content) if quote == '"' else content

    def _long_string(self, quote: str) -> str:
        self.at += 3
        start = self.at
        while self.at < len(self.text) and not self.text.startswith(quote * 3, self.at):
            self.at += 2 if quote == '"' and self.text[self.at] == "\\" else 1
        while self.text.startswith(quote * 4, self.at):  # up to two quotes may stand before the end
            self.at += 1
        content = self.text[start : self.at]
        self.at += 3
        return content

    def _take(self, mark: str) -> bool:
        if self.text.startswith(mark, self.at):
            self.at += len(mark)
            return True
        return False

    def _blank_within_line(self) -> None:
        while self.text[self.at : self.at + 1] in (" ", "\t"):
            self.at += 1

    def _skip_blank(self) -> bool:
        """Past blanks, line ends and comments; False at the end of the text."""
        while self.at < len(self.text):
            if self.text[self.at] == "#":
                self._to_line_end()
            elif self.text[self.at] in " \t\r\n":
                self.at += 1
            else:
                return True
        return False

    def _to_line_end(self) -> None:
        end = self.text.find("\n", self.at)
        self.at = len(self.text) if end < 0 else end


def _unescaped(content: str) -> str:
    """The content of a basic string; only keys need it."""
    out, i = [], 0
    while i < len(content):
        char = content[i]
        if char != "\\":
            out.append(char)
            i += 1
            continue
        kind = content[i + 1 : i + 2]
        digits = {"u": 4, "U": 8}.get(kind, 0)
        if digits:
            out.append(_character(content[i + 2 : i + 2 + digits]))
        else:
            out.append(_ESCAPES.get(kind, kind))
        i += 2 + digits
    return "".join(out)


def _character(digits: str) -> str:
    try:
        return chr(int(digits, 16))
    except ValueError:
        return "\ufffd"
