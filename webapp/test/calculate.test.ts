import assert from "node:assert/strict";
import { test } from "node:test";
import { documentOf, opened } from "../src/forms/form";
import { lineOf, modelOf, quantitiesOf } from "../src/records/calculate";
import { placeOf } from "../src/records/office";
import type { Json } from "../src/wire/records";
import { calculateForms } from "../src/words/calculate";
import { calculate } from "./module";

type Doc = { [name: string]: Json };

/** typed gives the document of a part's form after typing. */
function typed(part: keyof typeof calculateForms, doc: Doc): Doc {
  const fields = calculateForms[part];
  const read = documentOf(fields, opened(fields, doc));
  if ("error" in read) throw new Error(`${read.path}: ${read.error}`);
  return read.doc;
}

// GUM (JCGM 100:2008) H.2: resistance from five sets of observations made together.
test("observed means go into a formula with their correlations", () => {
  const out = calculate(
    "observations",
    typed("observations", {
      series: [
        { name: "V", values: ["5.007", "4.994", "5.005", "4.990", "4.999"] },
        { name: "I", values: ["0.019663", "0.019639", "0.019640", "0.019685", "0.019678"] },
        { name: "phi", values: ["1.0456", "1.0438", "1.0468", "1.0428", "1.0433"] },
      ],
    }) as never,
  );
  const asked = { ...quantitiesOf(out), formula: "V/I*cos(phi)", trials: true };
  const model = calculate("model", modelOf(typed("model", asked)) as never);
  assert.ok(Math.abs(model.value - 127.732) < 5e-4, String(model.value));
  assert.ok(Math.abs(model.u - 0.071) < 6e-4, String(model.u));
  assert.ok(model.trials?.stable, "correlated means can be drawn too");
});

// y = 1 + 2 x, by eye.
test("a line goes into a formula, where x is still to be typed", () => {
  const points = ["0", "1", "2"].map((x, i) => ({ x, y: String(1 + 2 * i), uy: "0.1" }));
  const asked = lineOf(calculate("line", typed("line", { points, at: ["3"] }) as never));
  const fields = calculateForms.model;
  const read = documentOf(fields, opened(fields, asked));
  assert.ok("error" in read && read.path === "quantities[2].value", "x has no value yet");
  const list = asked["quantities"] as Doc[];
  list[2] = { name: "x", value: "3", how: "half_width", half_width: "0.1", shape: "rectangular" };
  const model = calculate("model", modelOf(typed("model", asked)) as never);
  assert.ok(Math.abs(model.value - 7) < 1e-9, String(model.value));
});

test("the page has a path for each of its parts", () => {
  assert.deepEqual(placeOf("/office/calculate"), { kind: "calculate", part: "observations" });
  assert.deepEqual(placeOf("/office/calculate/line"), { kind: "calculate", part: "line" });
  assert.deepEqual(placeOf("/office/calculate/none"), { kind: "missing" });
});
