"""The JSON Schema of the box file, so that an editor completes and checks it while it is typed."""

from __future__ import annotations

import json
from typing import Any

from bellhousing.boxes.figures import written_schema
from bellhousing.boxes.schema import BoxFile


def box_json_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of schema 1 of the box file."""
    made = BoxFile.model_json_schema(by_alias=True, mode="validation")
    short = _shortened(made, written_schema())
    short["$defs"]["Figure"] = {"description": "A figure with its unit.", "anyOf": written_schema()}
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **short, "title": "Gearbox, schema 1"}


def _shortened(node: Any, figure: list[dict[str, Any]]) -> Any:
    """Return the schema without made-up titles, each figure as a reference."""
    if isinstance(node, list):
        return [_shortened(item, figure) for item in node]
    if not isinstance(node, dict):
        return node
    if node.get("anyOf") == figure:
        return {"description": node["description"], "$ref": "#/$defs/Figure"}
    kept = {key: item for key, item in node.items() if not (key in ("title", "default") and _is_note(item))}
    return {key: _shortened(item, figure) for key, item in kept.items()}


def _is_note(item: Any) -> bool:
    return item is None or isinstance(item, str)


def json_schema_text() -> str:
    """Return the JSON Schema as text, as it is kept beside the program."""
    return json.dumps(box_json_schema(), indent=2, ensure_ascii=False, sort_keys=True) + "\n"


if __name__ == "__main__":
    print(json_schema_text(), end="")
