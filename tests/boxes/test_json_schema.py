"""The JSON Schema for editors is current and agrees with the loader."""

from __future__ import annotations

from importlib.resources import files
from typing import Any

from bellhousing.boxes.json_schema import box_json_schema, json_schema_text
from bellhousing.boxes.schema import specs


def test_shipped_schema_is_current() -> None:
    """The file beside the program is what the program makes (`python -m bellhousing.boxes.json_schema`)."""
    shipped = files("bellhousing.boxes").joinpath("schema", "box-1.schema.json")
    assert shipped.read_text(encoding="utf-8") == json_schema_text()


def resolve(schema: dict[str, Any], node: dict[str, Any]) -> dict[str, Any]:
    """Return what a node refers to."""
    while "$ref" in node and node["$ref"] != "#/$defs/Figure":
        node = schema["$defs"][node["$ref"].rpartition("/")[2]]
    return node


def test_every_figure_is_in_the_schema() -> None:
    """Every dotted key leads to a described figure."""
    schema = box_json_schema()
    for key, spec in specs().items():
        node: dict[str, Any] = schema
        for step in key.split("."):
            node = resolve(schema, node["properties"][step])
        assert node["$ref"] == "#/$defs/Figure", key
        assert node["description"].startswith(spec.says), key


def test_unknown_keys_are_refused_everywhere() -> None:
    """Every object with named keys refuses others, as the loader does."""
    schema = box_json_schema()
    objects = [schema, *schema["$defs"].values()]
    named = [node for node in objects if "properties" in node]
    assert len(named) > 15
    assert all(node["additionalProperties"] is False for node in named)
    assert schema["required"] == ["schema", "name", "slug"]
