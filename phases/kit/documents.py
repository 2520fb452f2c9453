"""Reading a TOML file into a pydantic model, with every fault said in one sentence.

A fault names the file, the line, the key ("rail[2].voltage": the voltage of the second rail)
and what is wrong in plain words; for an unknown key also the nearest one that exists.
Where there are several, the first in the file is said and the others are counted.
"""

from __future__ import annotations

import difflib
import re
import stat
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Any, TypeVar, get_args

import tomli
from pydantic import AfterValidator, BaseModel, ValidationError
from pydantic_core import ErrorDetails

from phases.kit.document_lines import Location, line_numbers, nearest_line
from phases.kit.grammar import count
from phases.kit.refusals import Refusal, from_system, unknown
from phases.kit.text import one_line

M = TypeVar("M", bound=BaseModel)

LARGEST_FILE = 1_000_000
"""Bytes. The largest file of our own is a few kB; anything above this is not one of them."""


_SHOWN = 40  # characters of a key or a value that a refusal repeats


class RefusedError(ValueError):
    """A refusal met inside a model: pydantic adds the key to it, `parse_document` the line."""

    def __init__(self, refusal: Refusal) -> None:
        super().__init__(str(refusal))
        self.refusal = refusal


def checked(check: Callable[[Any], object]) -> AfterValidator:
    """A pydantic validator that keeps the value as it is when `check` does not refuse it."""

    def keep_if_good(value: object) -> object:
        try:
            check(value)
        except Refusal as refusal:
            raise RefusedError(refusal) from refusal
        return value

    return AfterValidator(keep_if_good)


def read_document(path: Path, model: type[M], *, kind: str) -> M:
    """The file at `path` as a `model`. `kind` is what a person calls it: "brief", "part card".

    Raises Refusal when there is no such file, when it cannot be read, and for every fault in it.
    """
    return parse_document(read_text(path, kind=kind), model, kind=kind, where=one_line(str(path)))


def read_text(path: Path, *, kind: str) -> str:
    """The text of the file at `path`. Raises Refusal when it is no readable text file."""
    where = one_line(str(path))
    try:
        status = path.stat()
        if stat.S_ISDIR(status.st_mode):
            raise Refusal(f"This is a folder, not a {kind}", where=where, do="Name a file in it")
        if not stat.S_ISREG(status.st_mode):
            raise Refusal(f"This is a device or a pipe, not a {kind}", where=where)
        if status.st_size > LARGEST_FILE:
            size, most = status.st_size / 1e6, LARGEST_FILE / 1e6
            raise Refusal(
                f"The file has {size:.1f} MB, a {kind} has at most {most:.0f} MB", where=where
            )
        return path.read_bytes().decode("utf-8-sig")
    except FileNotFoundError:
        raise Refusal(f"There is no {kind} here", where=where, do="Check the path") from None
    except PermissionError:
        do = "Check the permissions of the file"
        raise Refusal(f"This {kind} may not be read", where=where, do=do) from None
    except UnicodeDecodeError:
        raise Refusal(
            "The file is not a text in UTF-8", where=where, do="Save it as UTF-8"
        ) from None
    except (OSError, ValueError) as error:
        # A path with a null byte is a ValueError, a path too long an OSError.
        raise from_system(error, f"This {kind} cannot be read", path) from None


def parse_document(text: str, model: type[M], *, kind: str, where: str) -> M:
    """`text` as a `model`; `where` goes in front of each fault. Raises Refusal."""
    if not text.strip():
        raise Refusal(f"This {kind} is empty", where=where)
    return validate(_parse_toml(text, where), model, where=where, text=text)


def validate(data: Mapping[str, Any], model: type[M], *, where: str, text: str = "") -> M:
    """Plain `data` as a `model`. `text` is what it was read from, for the lines. Raises Refusal."""
    try:
        return model.model_validate(data)
    except Refusal as refusal:
        raise refusal.at(where) from None
    except ValidationError as error:
        places = _places(error.errors(include_url=False), text)
        faults = [(place, _refusal(details, place, model)) for place, details in places.items()]
        refuse_first(faults, where=where, text=text)
        raise  # not reached: there is no validation error without a fault


def refuse_first(faults: Iterable[tuple[Location, Refusal]], *, where: str, text: str = "") -> None:
    """Raises the first of `faults` in the order of `text`, with the number of the others."""
    listed = list(faults)
    if not listed:
        return
    numbers = line_numbers(text)
    found = [(nearest_line(numbers, place)[0], place, refusal) for place, refusal in listed]
    number, place, first = min(found, key=lambda fault: fault[0] or 0)
    do = first.do
    if others := len(found) - 1:
        more = f"And {count(others, 'more fault')}"
        do = f"{do}. {more}" if do else more
    raise Refusal(first.what, where=located(where, number, place), do=do) from None


def located(where: str, number: int | None, place: Location) -> str:
    """File, line and key in the form all refusals about documents have."""
    parts = [where, f"line {number}" if number else "", dotted(place)]
    return ", ".join(part for part in parts if part)


def dotted(place: Location) -> str:
    """A location as a person writes it, counted from one: ("rail", 1, "id") is "rail[2].id"."""
    text = ""
    for step in place:
        if isinstance(step, int):
            text += f"[{step + 1}]"
        else:
            text += f".{_short(step)}" if text else _short(step)
    return text


def _short(key: str) -> str:
    shown = one_line(key)
    return shown if len(shown) <= _SHOWN else f"{shown[: _SHOWN - 1]}…"


def _parse_toml(text: str, where: str) -> dict[str, Any]:
    try:
        return tomli.loads(text)
    except RecursionError:
        raise Refusal("The values are nested too deeply", where=where) from None
    except ValueError as error:
        # Besides its own errors tomli passes on those of int() and datetime().
        message = one_line(str(error))
        at_line = re.search(r"\(at line (\d+), column \d+\)", message)
        reason = re.sub(r"\s*\(at [^)]*\)$", "", message)
        if not isinstance(error, tomli.TOMLDecodeError):
            reason = "a number or a date is out of range"
        elif "Cannot overwrite a value" in reason:
            reason = "a key appears twice"
        elif "Cannot declare" in reason:
            reason = "a table appears twice"
        elif reason.startswith("Invalid value"):
            reason = "a value is missing or not readable; texts go in quotes"
        number = int(at_line[1]) if at_line else len(text.rstrip().splitlines())
        raise Refusal(
            f"Not valid TOML: {reason[:1].lower()}{reason[1:]}",
            where=located(where, number, ()),
        ) from None


def _places(errors: list[ErrorDetails], text: str) -> dict[Location, ErrorDetails]:
    """One fault for each place.

    A union reports one error for each of its members at a place of its own below the key; the
    place in the text is the same, and so they count as one.
    """
    numbers = line_numbers(text)
    found: dict[Location, ErrorDetails] = {}
    strange = [error["loc"] for error in errors if error["type"] == "extra_forbidden"]
    for details in errors:
        place = tuple(step for step in details["loc"] if step != "[key]")
        if details["type"] == "missing":
            if _misspelt(place, strange):
                continue  # the unknown key that stands for it is the fault
        elif numbers:
            place = nearest_line(numbers, place)[1]
        found.setdefault(place, details)
    return found


def _misspelt(missing: Location, strange: list[Location]) -> bool:
    """Whether a missing key stands in the same table under a name much like it."""
    beside = [str(place[-1]) for place in strange if place[:-1] == missing[:-1]]
    return bool(difflib.get_close_matches(str(missing[-1]), beside, n=1, cutoff=0.7))


def _refusal(details: ErrorDetails, place: Location, model: type[BaseModel]) -> Refusal:
    """What is wrong, in our own words."""
    type_, given, context = details["type"], details["input"], details.get("ctx", {})
    if type_ == "extra_forbidden":
        return unknown("key", _short(str(place[-1])), _known_keys(model, place[:-1]))
    if type_ == "missing":
        return Refusal(f"The key {place[-1]!r} is missing")
    if type_ == "value_error":
        cause = context.get("error")
        return cause.refusal if isinstance(cause, RefusedError) else Refusal(one_line(str(cause)))
    if type_ in ("literal_error", "enum"):
        choices = re.findall(r"'([^']*)'", str(context.get("expected", "")))
        return (
            unknown("choice", given, choices)
            if isinstance(given, str)
            else _wrong_kind("one of " + ", ".join(choices), given)
        )
    if (wanted := _WANTED.get(type_)) is not None:
        return _wrong_kind(wanted, given)
    if (bound := _BOUNDS.get(type_)) is not None:
        key, words = bound
        things = "characters" if isinstance(given, str) else "entries"
        allowed = words.format(context.get(key), things)
        return Refusal(f"Found {_shown(given)}; allowed: {allowed}")
    return Refusal(one_line(details["msg"]))


_WANTED = {
    "string_type": "a text in quotes",
    "int_type": "a whole number",
    "int_parsing": "a whole number",
    "int_from_float": "a whole number",
    "float_type": "a number",
    "float_parsing": "a number",
    "finite_number": "a finite number",
    "bool_type": "true or false",
    "bool_parsing": "true or false",
    "list_type": "a list",
    "tuple_type": "a list",
    "dict_type": "a table",
    "mapping_type": "a table",
    "model_type": "a table",
    "model_attributes_type": "a table",
}

_BOUNDS = {
    "greater_than": ("gt", "more than {}"),
    "greater_than_equal": ("ge", "{} or more"),
    "less_than": ("lt", "less than {}"),
    "less_than_equal": ("le", "{} or less"),
    "string_too_short": ("min_length", "at least {} {}"),
    "string_too_long": ("max_length", "at most {} {}"),
    "too_short": ("min_length", "at least {} {}"),
    "too_long": ("max_length", "at most {} {}"),
}


def _wrong_kind(wanted: str, given: object) -> Refusal:
    return Refusal(f"Found {_shown(given)}; expected {wanted}")


def _shown(value: object) -> str:
    """A value for a sentence: short, on one line, as its kind where it has no short form."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        text = one_line(value)
        return f"the text {text!r}" if len(text) <= _SHOWN else f"a text of {len(text)} characters"
    if isinstance(value, int | float):
        text = repr(value) if not isinstance(value, int) or abs(value) < 10**20 else ""
        return f"the number {text}" if text else "a very long number"
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list | tuple):
        return "a list"
    return "a date or a time"


def _known_keys(model: type[BaseModel], place: Location) -> set[str]:
    """The keys that may stand in the table at `place`."""
    models = [model]
    for step in place:
        if isinstance(step, int):
            continue
        models = [
            inner
            for outer in models
            for name, field in outer.model_fields.items()
            if step == (field.alias or name)
            for inner in _models_in(field.annotation)
        ]
    return {field.alias or name for found in models for name, field in found.model_fields.items()}


def _models_in(annotation: Any) -> list[type[BaseModel]]:
    """The models inside an annotation such as `tuple[Rail, ...] | None`."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [found for part in get_args(annotation) for found in _models_in(part)]
