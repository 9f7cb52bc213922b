import assert from "node:assert/strict";
import { test } from "node:test";
import { documentOf } from "../src/forms/form";
import { filled, pasted, takesRows } from "../src/forms/pasted";
import { calculateForms } from "../src/words/calculate";

const points = calculateForms.line.find((f) => f.name === "points");
if (points?.as !== "list") throw new Error("the form of a line has no points");
const { fields } = points;

/** made gives the document's points that a text yields. */
function made(text: string) {
  const read = pasted(fields, text);
  if ("error" in read) return read.error;
  const doc = documentOf([points as never], { from: {}, values: { points: read.rows } });
  return "error" in doc ? doc.error : doc.doc["points"];
}

test("rows of a spreadsheet become points: tabs, semicolons or spaces, with a comma or a point", () => {
  const want = [
    { x: "0", y: "1.5" },
    { x: "10", y: "-2" },
  ];
  assert.deepEqual(made("0\t1.5\n10\t-2\n"), want);
  assert.deepEqual(made("0;1,5\r\n10;\u22122\r\n"), want);
  assert.deepEqual(made("  0   1.5\n\n10 -2"), want);
  assert.deepEqual(made("applied\terror\n0\t1.5\n10\t-2"), want, "headings are left out");
  assert.deepEqual(made("0\t1.5\t\t\t\t\t\n10\t-2"), want, "empty cells at the end are no columns");
  assert.deepEqual(
    made("0\t1.5\t\t0.1\n10\t-2"),
    [{ x: "0", y: "1.5", ux: "0.1" }, want[1]],
    "an empty cell is no value",
  );
});

test("a row that does not fit is refused with its line", () => {
  assert.match(String(made("1 2\n\n1 2 3 4 5 6")), /Line 3 has 6 columns/);
  assert.match(String(made(" \n\t")), /no row/);
  assert.match(String(made("applied\terror")), /no row/);
});

test("a list whose fields depend on one another takes no rows", () => {
  const quantities = calculateForms.model.find((f) => f.name === "quantities");
  assert.equal(quantities?.as === "list" && takesRows(quantities.fields), false);
  assert.equal(takesRows(fields), true);
  assert.equal(filled({ from: {}, values: { x: " ", y: "" } }), false);
});
