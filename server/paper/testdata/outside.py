"""Checks what the laboratory's key signed, written from the documents alone and with Python's
cryptography: RFC 7515 (detached and flattened), RFC 7638, RFC 8037, RFC 8785 for texts.

Reads {"keys": [JWK], "cases": [{"name", "kind", "bytes" in base64}]}, writes {NAME: what holds}.
"""
import base64
import hashlib
import json
import sys

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey


def b64d(text):
    data = base64.urlsafe_b64decode(text + "=" * (-len(text) % 4))
    if b64e(data) != text:
        raise ValueError("not the one form of base64url")
    return data


def b64e(data):
    return base64.urlsafe_b64encode(data).rstrip(b"=").decode()


def canonical(value):
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()


def thumbprint(jwk):
    members = {"crv": jwk["crv"], "kty": jwk["kty"], "x": jwk["x"]}
    return b64e(hashlib.sha256(canonical(members)).digest())


def verified(keys, protected, payload, signature):
    header = json.loads(b64d(protected))
    if header.get("alg") not in ("EdDSA", "Ed25519"):
        raise ValueError("another algorithm")
    key = keys[header["kid"]]
    key.verify(b64d(signature), (protected + "." + b64e(payload)).encode())


def record(keys, data):
    jws = json.loads(data)
    payload = b64d(jws["payload"])
    verified(keys, jws["protected"], payload, jws["signature"])
    if canonical(json.loads(payload)) != payload:
        raise ValueError("not canonical")
    return json.loads(payload)["certificate"]["number"]


def code(keys, data):
    text = data.decode().split("#")[-1]
    said, _, signature = text.rpartition(".")
    for key in keys.values():
        try:
            key.verify(b64d(signature), said.encode())
            return said.split(".")[1]
        except InvalidSignature:
            continue
    raise ValueError("no key signed it")


def pdf(keys, data):
    mark = b"\n%gaugewright-seal "
    at = data.rindex(mark)
    payload, signature = data[at + len(mark):].rstrip(b"\n").decode().split(" ")
    protected, _, sum = signature.split(".")
    seal = b64d(payload)
    verified(keys, protected, seal, sum)
    own = json.loads(seal)
    if own["pdf"] != b64e(hashlib.sha256(data[: at + 1]).digest()):
        raise ValueError("the PDF is another one")
    return code(keys, own["code"].encode())


asked = json.load(sys.stdin)
keys = {thumbprint(k): Ed25519PublicKey.from_public_bytes(b64d(k["x"])) for k in asked["keys"]}
said = {}
for case in asked["cases"]:
    try:
        check = {"record": record, "code": code, "pdf": pdf}[case["kind"]]
        said[case["name"]] = check(keys, base64.b64decode(case["bytes"]))
    except (InvalidSignature, ValueError, KeyError, TypeError, AttributeError):
        said[case["name"]] = ""
json.dump(said, sys.stdout)
