"""Validates records with an independent JSON Schema validator (PyPI: jsonschema): the examples, and one that a
rehearsal has just written. A record that is broken on purpose must be refused."""

import copy
import json
import pathlib
import subprocess
import sys
import tempfile

from jsonschema import Draft202012Validator

ROOT = pathlib.Path(__file__).resolve().parents[2]


def validator(name):
    schema = json.loads((ROOT / "schemas" / name).read_text())
    Draft202012Validator.check_schema(schema)
    return Draft202012Validator(schema, format_checker=Draft202012Validator.FORMAT_CHECKER)


def breaches(validator, document):
    return [f"{'/'.join(map(str, error.absolute_path))}: {error.message}" for error in validator.iter_errors(document)]


def rehearsed(folder):
    program = ["cargo", "run", "--quiet", "--", "--shop", folder, "rehearse", "--seed", "1"]
    subprocess.run(program, cwd=ROOT, check=True, stdout=subprocess.DEVNULL)
    return list((pathlib.Path(folder) / "rehearsals" / "records").glob("*.json"))


def main():
    records = validator("record.schema.json")
    with tempfile.TemporaryDirectory() as folder:
        fresh = rehearsed(folder)
        assert len(fresh) == 1, fresh
        found = {path: json.loads(path.read_text()) for path in fresh}
    for path in sorted((ROOT / "examples").rglob("*.json")):
        document = json.loads(path.read_text())
        if str(document.get("format", "")).startswith("spoolproof/record/"):
            found[path] = document
    wrong = 0
    for path, document in found.items():
        for breach in breaches(records, document):
            wrong += 1
            print(f"{path.name}: {breach}")
    spoiled = copy.deepcopy(found[fresh[0]])
    spoiled["circuits"][0]["readings"][0]["judgement"]["verdict"] = "fine"
    assert breaches(records, spoiled), "a spoiled record was accepted"
    print(f"{len(found)} records validated, {wrong} breaches")
    sys.exit(1 if wrong else 0)


main()
