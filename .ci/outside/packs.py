"""Verifies packs with the example in Python, on libraries that are not the program's own (PyPI: cryptography, rfc8785,
jsonschema), and has the program receive a pack that those libraries signed."""

import hashlib
import json
import pathlib
import subprocess
import sys
import tempfile

import rfc8785
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from jsonschema import Draft202012Validator

ROOT = pathlib.Path(__file__).resolve().parents[2]
sys.path += [str(ROOT / "examples"), str(ROOT / ".ci" / "outside" / "support")]

from shop import ONE_CIRCUIT, program  # noqa: E402
from verify_pack import verify  # noqa: E402

EXAMPLE = ROOT / "examples" / "verify_pack.py"
# A procedure with a module, and text that the canonical form has to write with care.
WITH_MODULE = """
import "merle_steps" as steps;
procedure(#{ title: "Merle M2, \\"feed\\" µ\u20ac\U0001f527 \\\\", unit: "Merle M2", version: "1.0.0" });
caution("Suction holds skin.");
test(circuit(#{ name: "feed", holds: 20.inHg, leaks: 15.inHg }), |t| { steps::look(t); });
"""
MODULE = 'fn look(t) { t.ready("Look."); t.read(); }\n'


def validator(name):
    schema = json.loads((ROOT / "schemas" / name).read_text())
    Draft202012Validator.check_schema(schema)
    return Draft202012Validator(schema)


def shared(folder):
    """Has the program sign three procedures into a folder of packs; returns the packs' paths."""
    (folder / "merle-m2.rhai").write_text(ONE_CIRCUIT)
    (folder / "merle-long.rhai").write_text(WITH_MODULE)
    (folder / "merle_steps.rhai").write_text(MODULE)
    named = [folder / "merle-m2.rhai", folder / "merle-long.rhai", "osier-o7-rear"]
    program("--shop", folder / "shop", "share", *named, "--as", "North Bench", "--folder", folder / "packs")
    return sorted((folder / "packs").glob("*.pack.json"))


def is_refused(text):
    try:
        verify(text)
    except Exception:
        return True
    return False


def signed_in_python(pack, name):
    """Returns a pack signed anew by these libraries, with its signer's fingerprint."""
    key = Ed25519PrivateKey.from_private_bytes(hashlib.sha256(name.encode()).digest())
    pack = {field: value for field, value in pack.items() if field != "signature"}
    pack["signer"] = {"name": name, "public_key": key.public_key().public_bytes_raw().hex()}
    pack["signature"] = key.sign(rfc8785.dumps(pack)).hex()
    return json.dumps(pack)


def main():
    packs = validator("pack.schema.json")
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        paths = shared(folder)
        assert len(paths) == 3, paths
        own = json.loads(program("--shop", folder / "shop", "trust", "list", "--json"))["own"]
        for path in paths:
            said = subprocess.run([sys.executable, EXAMPLE, path], text=True, capture_output=True)
            wanted = f"{own['name']}: {own['fingerprint']}\n"
            assert (said.returncode, said.stdout) == (0, wanted), (path, said)
            packs.validate(json.loads(path.read_text()))

        text = next(path for path in paths if "merle-m2" in path.name).read_bytes()
        for at in range(len(text)):
            changed = bytearray(text)
            changed[at] ^= 1
            assert is_refused(bytes(changed)), (at, bytes(changed[max(at - 20, 0) : at + 20]))
        altered = folder / "altered.json"
        altered.write_bytes(text.replace(b"15.inHg", b"14.inHg"))
        said = subprocess.run([sys.executable, EXAMPLE, altered], text=True, capture_output=True)
        assert said.returncode == 1 and "InvalidSignature" in said.stderr, said

        pack = json.loads(text)
        for spoiled in ({**pack, "more": 1}, {**pack, "version": "1.0"}, {**pack, "files": []}):
            assert not packs.is_valid(spoiled), spoiled
        foreign = folder / "foreign.json"
        foreign.write_text(signed_in_python(pack, "Python Bench"))
        name, fingerprint = verify(foreign.read_text())
        arguments = ["--shop", folder / "other", "receive", foreign, "--trust", fingerprint, "--yes", "--json"]
        received = json.loads(program(*arguments))
        assert received["installed"] and received["signer"] == {"name": name, "fingerprint": fingerprint}, received
    print(f"{len(paths)} packs verified, each of {len(text)} changed bytes refused, one signed in Python received")


main()
