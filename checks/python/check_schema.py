"""Reads TOML by Python's tomllib, and says whether values obey schemas by jsonschema.

Reads a JSON object on standard input: `toml` is a list of texts, `pairs` a list of [schema, value].
Prints the values of the texts and, for each pair, null or what jsonschema found wrong. Schemas must
obey draft 2020-12 themselves.
"""

import json
import sys
import tomllib

from jsonschema import Draft202012Validator


def fault(schema, value):
    Draft202012Validator.check_schema(schema)
    error = next(Draft202012Validator(schema).iter_errors(value), None)
    return error and f"{error.json_path}: {error.message[:200]}"


asked = json.load(sys.stdin)
json.dump(
    {
        "toml": [tomllib.loads(text) for text in asked["toml"]],
        "pairs": [fault(schema, value) for schema, value in asked["pairs"]],
    },
    sys.stdout,
)
