"""Verifies a pack without spoolproof: python verify_pack.py NAME.pack.json, after pip install cryptography rfc8785."""

import base64
import hashlib
import json
import sys

import rfc8785
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey


def verify(text):
    """Returns whose pack it is and the fingerprint to compare; raises an error where anything was changed."""
    pack = json.loads(text)
    signature = bytes.fromhex(pack.pop("signature"))
    key = bytes.fromhex(pack["signer"]["public_key"])
    Ed25519PublicKey.from_public_bytes(key).verify(signature, rfc8785.dumps(pack))
    for file in pack["files"]:
        if hashlib.sha256("\n".join(file["lines"]).encode()).hexdigest() != file["sha256"]:
            raise ValueError(f"{file['name']} is not the file of its digest")
    for picture in pack.get("pictures", []):
        if hashlib.sha256(base64.b64decode(picture["base64"], validate=True)).hexdigest() != picture["sha256"]:
            raise ValueError(f"{picture['name']} is not the picture of its digest")
    digest = hashlib.sha256(key).digest()
    groups = [int.from_bytes(digest[at : at + 5], "big") % 100_000 for at in range(0, 30, 5)]
    return pack["signer"]["name"], " ".join(f"{group:05}" for group in groups)


if __name__ == "__main__":
    with open(sys.argv[1], "rb") as file:
        print(*verify(file.read()), sep=": ")
