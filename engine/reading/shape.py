"""Plain values to typed ones, with every mistake named at its line.

msgspec converts, and is all that a correct file costs. It stops at the first
mistake, so a faulty file is gone over again with the JSON Schema of the same type,
which finds them all.
"""

from __future__ import annotations

from inspect import cleandoc
from typing import Any, TypeVar

import msgspec

from ..problems import BadInput, Problem, nearest
from .yamltext import Document, Place

T = TypeVar("T")
LONGEST_NAME = 60  # a longer one does not tell a reader at a glance which row is meant


def shaped(document: Document, form: type[T]) -> T:
    """The document as `form`. Raises BadInput with all mistakes found."""
    try:
        return msgspec.convert(document.value, form)
    except msgspec.ValidationError as error:
        first = str(error)
    raise BadInput(_all_mistakes(document, form) or [document.problem((), "wrong-shape", first)])


def json_schema(form: Any) -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of a type, for editors and for messages; the same under every msgspec."""
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **_settled(msgspec.json.schema(form))}


def _settled(schema: Any) -> Any:
    """A schema without what releases of msgspec write differently: indents of docstrings, names of keys."""
    if isinstance(schema, list):
        return [_settled(part) for part in schema]
    if not isinstance(schema, dict):
        return schema
    kept = {key: _settled(part) for key, part in schema.items() if key != "propertyNames"}
    if isinstance(kept.get("description"), str):
        kept["description"] = cleandoc(kept["description"])
    return kept


def _all_mistakes(document: Document, form: Any) -> list[Problem]:
    from jsonschema import Draft202012Validator

    validator = Draft202012Validator(json_schema(form))
    problems = [_told(document, error) for error in validator.iter_errors(document.value)]
    unique = {(p.line, p.column, p.message): p for p in problems}
    return sorted(unique.values(), key=lambda p: (p.line, p.column, p.message))


def _told(document: Document, error: Any) -> Problem:
    """One schema error in words; of alternatives the one that came furthest."""
    while error.context:
        error = max(error.context, key=lambda e: (len(e.absolute_path), e.validator == "enum"))
    place: Place = tuple(error.absolute_path)
    name = _spelt(document.value, place)
    value, kind, schema = error.instance, error.validator, error.schema
    if kind == "additionalProperties":
        known = schema.get("properties", {})
        extra = sorted(key for key in value if key not in known)
        return document.problem(
            (*place, extra[0]), "unknown-key", f"unknown key {extra[0]!r} in {name}", nearest(extra[0], known)
        )
    if kind == "required":
        missing = [key for key in error.validator_value if key not in value]
        return document.problem(place, "missing-key", f"{name} needs the key {missing[0]!r}")
    if kind == "enum":
        return document.problem(
            place,
            "not-allowed",
            f"{name}: {_short(value)} is not allowed",
            nearest(str(value), map(str, error.validator_value)),
        )
    if kind == "type":
        wants_text = "string" in error.validator_value and isinstance(value, int | float)
        hint = f'put it in quotes: "{str(value).lower()}"' if wants_text else ""
        return document.problem(
            place, "wrong-type", f"{name} must be {_a(error.validator_value)}, not {_short(value)}", hint
        )
    if kind == "pattern":
        return document.problem(
            place, "bad-form", f"{name}: {_short(value)} is not {schema.get('description', 'in the right form')}"
        )
    if kind in ("minimum", "exclusiveMinimum", "maximum", "exclusiveMaximum"):
        words = {"minimum": "at least", "exclusiveMinimum": "above", "maximum": "at most", "exclusiveMaximum": "below"}
        return document.problem(
            place, "out-of-range", f"{name} must be {words[kind]} {error.validator_value}, not {_short(value)}"
        )
    if kind in ("minItems", "minLength", "minProperties"):
        return document.problem(
            place, "too-short", f"{name} must not be empty: at least {_counted(error.validator_value, kind)}"
        )
    if kind in ("maxItems", "maxLength", "maxProperties", "items"):
        most = schema.get("maxItems", len(schema.get("prefixItems", []))) if kind == "items" else error.validator_value
        return document.problem(
            place, "too-long", f"{name} is too long: {_counted(len(value), kind)}, at most {most:,} are read"
        )
    return document.problem(place, "wrong-shape", f"{name}: {_short(error.message)}")


def _spelt(value: Any, place: Place) -> str:
    """A place as a person says it: rows by the name they carry, or by their number from 1."""
    rows, words = "", list[str]()
    for part in place:
        try:
            value = value[part]
        except (KeyError, IndexError, TypeError):
            value = None
        if isinstance(part, str):
            words.append(part)
            continue
        head = words.pop() if words else "row"
        named = next((value[key] for key in ("name", "label", "id") if _is_name(value, key)), None)
        within = "".join(f"{word}." for word in words)
        row = f"{within}{head} number {part + 1}" if named is None else f"{within}{head.removesuffix('s')} '{named}'"
        rows, words = f"{rows}{row}: ", []
    return rows + ".".join(words) if words else rows.removesuffix(": ") or "the file"


def _is_name(row: Any, key: str) -> bool:
    return isinstance(row, dict) and isinstance(row.get(key), str) and 0 < len(row[key]) <= LONGEST_NAME


def _counted(count: int, kind: str) -> str:
    one, many = ("character", "characters") if kind.endswith("Length") else ("entry", "entries")
    return f"{count:,} {one if count == 1 else many}"


def _a(kind: str | list[str]) -> str:
    words = {
        "object": "a mapping (key: value)",
        "array": "a list",
        "string": "text",
        "integer": "a whole number",
        "number": "a number",
        "boolean": "true or false",
        "null": "empty",
    }
    kinds = [kind] if isinstance(kind, str) else kind
    return " or ".join(words.get(k, k) for k in kinds)


def _short(value: Any) -> str:
    if isinstance(value, dict):
        return "a mapping"
    if isinstance(value, list):
        return "a list"
    text = repr(value) if isinstance(value, str) else str(value)
    return text if len(text) <= 60 else text[:57] + "..."
