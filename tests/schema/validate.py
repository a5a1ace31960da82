"""Validates TOML against the JSON Schemas, with a parser of TOML and a validator that are not Benchleaf's.

Argument: the folder of the schemas. Standard input: a JSON object a line, with the kind of a file and its text. Standard
output: for each, a JSON object a line: what the validator rejects, or why the file is no TOML.

Each schema is compared with the metaschema of draft 7 first: http://json-schema.org/draft-07/schema, which `jsonschema`
contains.
"""

import datetime
import json
import pathlib
import re
import sys
import tomllib

from jsonschema import Draft7Validator


def toml(kind, text):
    """The TOML of a file. That of procedures and fault tables is between two `+++` lines."""
    if kind not in ("procedure", "fault"):
        return text
    lines = [line.rstrip() for line in text.split("\n")]
    if lines[0] != "+++" or "+++" not in lines[1:]:
        raise ValueError("no front matter")
    return "\n".join(lines[1 : lines.index("+++", 1)])


def plain(value):
    """A value as validators get it. JSON has no dates."""
    if isinstance(value, dict):
        return {key: plain(item) for key, item in value.items()}
    if isinstance(value, list):
        return [plain(item) for item in value]
    if isinstance(value, (datetime.date, datetime.time)):
        return value.isoformat()
    return value


def unknown_keys(error):
    """The keys that a table may not have."""
    known = set(error.schema.get("properties", {}))
    patterns = error.schema.get("patternProperties", {})
    is_known = lambda key: key in known or any(re.search(pattern, key) for pattern in patterns)
    return [key for key in error.instance if not is_known(key)]


def leaves(error):
    """The errors behind an error: of a choice between schemas, those of the one that is for a value of this type."""
    if error.validator != "anyOf":
        yield error
        return
    for branch in range(len(error.validator_value)):
        errors = [inner for inner in error.context if inner.schema_path[0] == branch]
        if not any(inner.validator == "type" and not inner.path for inner in errors):
            for inner in errors:
                yield from leaves(inner)
            return
    error.validator = "type"
    yield error


def rejected(error):
    """What is rejected: a sort of fault, its place, and the keys that it is about."""
    sort, keys = error.validator, []
    if sort == "additionalProperties":
        sort = "id" if "patternProperties" in error.schema else "unknown"
        keys = unknown_keys(error)
    elif sort == "required":
        keys = [key for key in error.validator_value if key not in error.instance]
        # An error for each missing key.
        keys = [key for key in keys if f"'{key}' is a required property" == error.message]
    elif sort in ("minimum", "maximum", "exclusiveMinimum"):
        sort = "type"
    elif sort == "pattern" and error.schema.get("format") == "date":
        sort = "type"
    return {"sort": sort, "at": [str(key) for key in error.absolute_path], "keys": keys}


def main():
    validators = {}
    for path in pathlib.Path(sys.argv[1]).glob("*.schema.json"):
        schema = json.loads(path.read_text(encoding="utf-8"))
        Draft7Validator.check_schema(schema)
        validators[path.name.removesuffix(".schema.json")] = Draft7Validator(schema)
    sys.stdin.reconfigure(encoding="utf-8")
    for line in sys.stdin:
        file = json.loads(line)
        try:
            document = plain(tomllib.loads(toml(file["kind"], file["text"])))
        except ValueError as error:
            print(json.dumps({"broken": str(error)}))
            continue
        errors = validators[file["kind"]].iter_errors(document)
        found = [rejected(leaf) for error in errors for leaf in leaves(error)]
        print(json.dumps({"rejected": found}))


main()
