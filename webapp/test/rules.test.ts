import assert from "node:assert/strict";
import { readdirSync, readFileSync } from "node:fs";
import { test } from "node:test";
import type { Calculations } from "../src/wire/calculations.gen";
import { calculate } from "./module";

type Case = { about: string; calculation: keyof Calculations; ask: unknown; want: { [part: string]: unknown } };

// The phone's module says the same about these records as the office's program: calc/rules_test.go.
const files = readdirSync("testdata/rules");
assert.ok(files.length > 0);
for (const file of files) {
  const cases: Case[] = JSON.parse(readFileSync(`testdata/rules/${file}`, "utf8"));
  assert.ok(cases.length > 0, file);
  for (const c of cases)
    test(`${file}: ${c.about}`, () => {
      const got = calculate(c.calculation, c.ask) as { [part: string]: unknown };
      assert.ok(Object.keys(c.want).length > 0);
      for (const [part, want] of Object.entries(c.want)) assert.deepEqual(got[part] ?? null, want, part);
    });
}
