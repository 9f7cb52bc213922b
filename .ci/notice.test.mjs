import assert from "node:assert/strict";
import test from "node:test";
import { written } from "./notice.mjs";

test("each work is named, and a licence that two share stands once", () => {
  const text = written([
    { name: "a", version: "v1", texts: ["Licence A"] },
    { name: "b", version: "v2", texts: ["Licence A", "Patents"] },
  ]);
  assert.match(text, /^ {2}a v1\n {2}b v2$/m);
  assert.equal(text.split("Licence A").length, 2);
  assert.match(text, /^a\nb\n-+\nLicence A$/m);
});

test("a work without a licence is refused", () => {
  assert.throws(() => written([{ name: "a", version: "v1", texts: [] }]), /no licence text: a/);
});
