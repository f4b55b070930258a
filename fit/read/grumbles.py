"""What the YAML parser complains about, in plain words.

The parser gives fixed English phrases and no codes, so they are looked up whole; what is not in
the table gets a general sentence at the parser's place.
"""

from __future__ import annotations

from typing import Any, Final

from fit.findings import Problem, Span

_INDENT: Final = (
    "this line does not fit the lines above it",
    "check its indentation, the ':' after its key, and the line before it",
)
_QUOTE: Final = ("a text in quotes does not end", "close it with the same quote")
_LIST: Final = ("a list in '[ ]' is not written right", "write [a, b, c] and close it with ']'")
_BLOCK: Final = (
    "a block in '{ }' is not written right",
    "write {key: value, key: value} and close it with '}'",
)
_COLON: Final = ("'key: value' is not written right", "write one ':' and a space after the key")
_ESCAPE: Final = ("'\\' in double quotes starts a code that does not exist", "use single quotes")
_SIGN: Final = (
    "a value cannot begin with this sign",
    "put it in quotes: signs such as @ ` % & * ! | > mean something in YAML",
)
_ANCHOR: Final = ("a mark after '&' or '*' is not written right", "write the value out instead")
_TAG: Final = ("'!' in front of a value is not used here", "write it in quotes")
_HEAD: Final = ("a line beginning with '%' is not used here", "put the text in quotes")
_FOLD: Final = ("a text after '|' or '>' is not written right", "write the text in quotes")

_VALUE: Final = (
    "a value is missing or begins with a sign that cannot stand here",
    "write the value, in quotes if it holds signs",
)
_DEEP: Final = ("this is nested too deeply", "write it with fewer blocks inside each other")

_SAID: Final = {
    "exceeded maximum nesting depth": _DEEP,
    "did not find expected key": _INDENT,
    "did not find expected '-' indicator": _INDENT,
    "expected <block end>": _INDENT,
    "block sequence entries are not allowed in this context": _INDENT,
    "sequence entries are not allowed here": _INDENT,
    "block mapping": _INDENT,
    "did not find expected <document start>": _INDENT,
    "expected '<document start>'": _INDENT,
    "mapping values are not allowed in this context": _COLON,
    "mapping values are not allowed here": _COLON,
    "could not find expected ':'": _COLON,
    "mapping keys are not allowed in this context": _COLON,
    "mapping keys are not allowed here": _COLON,
    "found unexpected end of stream": _QUOTE,
    "found unexpected document indicator": _QUOTE,
    "found unexpected document separator": _QUOTE,
    "did not find expected ',' or ']'": _LIST,
    "expected ',' or ']'": _LIST,
    "did not find expected ',' or '}'": _BLOCK,
    "expected ',' or '}'": _BLOCK,
    "found unknown escape character": _ESCAPE,
    "did not find expected hex": _ESCAPE,
    "found invalid Unicode character escape code": _ESCAPE,
    "found character that cannot start any token": _SIGN,
    "found character '": _SIGN,
    "did not find expected alphabetic or numeric character": _ANCHOR,
    "expected alphabetic or numeric character": _ANCHOR,
    "found undefined tag handle": _TAG,
    "did not find expected tag URI": _TAG,
    "did not find expected whitespace or line break": _TAG,
    "did not find expected '!'": _TAG,
    "found unknown directive name": _HEAD,
    "could not find expected directive name": _HEAD,
    "did not find expected comment or line break": _FOLD,
    "expected a comment or a line break": _FOLD,
    "expected chomping or indentation indicators": _FOLD,
    "found an indentation indicator equal to 0": _FOLD,
    "found a tab character where an indentation space is expected": (
        "this line is indented with a tab",
        "indent with spaces",
    ),
    "found a tab character that violates indentation": (
        "this line is indented with a tab",
        "indent with spaces",
    ),
    "did not find expected node content": _VALUE,
    "expected the node content": _VALUE,
}


def problem(where: Span, wrong: str, right: str = "") -> Problem:
    """A problem whose words can be printed anywhere, whatever the file holds."""
    return Problem(where, _printable(wrong), _printable(right))


def _printable(text: str) -> str:
    return "".join(sign if sign.isprintable() else "?" for sign in text)


def _words(said: str) -> tuple[str, str]:
    """Words for a phrase: as it stands, or without the detail Python's parser adds at its end."""
    if said in _SAID:
        return _SAID[said]
    for phrase, words in _SAID.items():
        if said.startswith(phrase):
            return words
    return _INDENT


def plain_words(error: Any, file: str, text: str) -> Problem:
    """One problem from an error of the YAML parser.

    Args:
        error: a `yaml.YAMLError`.
        file: name for messages.
        text: the file's text, to keep the place inside it.
    """
    mark = getattr(error, "problem_mark", None)
    said = getattr(error, "problem", None)
    wrong, right = _words(str(said or ""))
    context = getattr(error, "context_mark", None)
    if (wrong, right) in (_QUOTE, _LIST, _BLOCK) and context is not None:
        # The parser notices at the end of the file; the fault is where the quote was opened.
        mark = context
    if mark is None:
        return problem(Span(file, 1, 1), wrong, right)
    last = text.rstrip("\r\n").count("\n") + 1
    line, column = mark.line + 1, mark.column + 1
    return problem(Span(file, min(line, last), column if line <= last else 1), wrong, right)
