"""Checks what the laboratory's key signed, written from the documents alone and with Python's
cryptography: RFC 7515 (detached and flattened), RFC 7638, RFC 8037, RFC 8785 for texts.

Reads {"keys": [JWK], "cases": [{"name", "kind", "bytes" in base64 or "path"}]}, writes {NAME: what
holds}.
"""
import base64
import hashlib
import json
import re
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


def xml(keys, data):
    """The form for machines is signed by the seal of the paper that it encloses."""
    document = re.compile(
        rb"  <dcc:document>\n    <dcc:fileName>certificate-([^<]+)\.pdf</dcc:fileName>\n"
        rb"    <dcc:mimeType>application/pdf</dcc:mimeType>\n"
        rb"    <dcc:dataBase64>([^<]*)</dcc:dataBase64>\n  </dcc:document>\n"
    )
    (found,) = document.finditer(data)
    paper = base64.b64decode(found.group(2), validate=True)
    if base64.b64encode(paper) != found.group(2):
        raise ValueError("not the one form of base64")
    bare = data[: found.start()] + data[found.end():]
    payload = paper[paper.rindex(b"\n%gaugewright-seal "):].split(b" ")[1]
    own = json.loads(b64d(payload.decode()))
    number = pdf(keys, paper)
    if own["xml"] != b64e(hashlib.sha256(bare).digest()) or number != found.group(1).decode():
        raise ValueError("the XML is another one")
    return number


asked = json.load(sys.stdin)
keys = {thumbprint(k): Ed25519PublicKey.from_public_bytes(b64d(k["x"])) for k in asked["keys"]}
said = {}
for case in asked["cases"]:
    try:
        check = {"record": record, "code": code, "pdf": pdf, "xml": xml}[case["kind"]]
        if "path" in case:
            with open(case["path"], "rb") as file:
                data = file.read()
        else:
            data = base64.b64decode(case["bytes"])
        said[case["name"]] = check(keys, data)
    except (InvalidSignature, ValueError, KeyError, TypeError, AttributeError):
        said[case["name"]] = ""
json.dump(said, sys.stdout)
