import assert from "node:assert/strict";
import { test } from "node:test";
import { particularsOf } from "../src/views/particulars";

test("the particulars of a system, a switch or a disc are among its facts", () => {
  assert.deepEqual(
    particularsOf({ volume_m3: "0.0125", weakest: { low: "-1", high: 8, part: "sight glass" } }, "bar"),
    [
      ["Volume", "12.5 L"],
      ["Weakest part", "sight glass \u2265 \u22121 bar \u2264 8 bar"],
    ],
  );
  const contacts = [
    {
      name: "K1",
      acts: "rising",
      nominal: "1.5",
      tolerance: "0.05",
      dead_band: { low: "0.6", high: "0.8" },
      safe: "open",
      safety_function: true,
    },
  ];
  assert.deepEqual(particularsOf({ contacts }, "bar"), [
    [
      "Contact K1",
      "acts rising at 1.5 bar \u00b1 0.05 bar, dead band 0.6 to 0.8 bar, safe state open, safety function",
    ],
  ]);
  assert.deepEqual(
    particularsOf({ marked: "10", range_percent: { low: "-5", high: "5" }, lot: "L-7", lot_size: 12 }, "bar"),
    [
      ["Marked burst pressure", "10 bar"],
      ["Manufacturing range", "\u22125 \u2026 5 %"],
      ["Lot", "L-7"],
      ["Discs in the lot", "12"],
    ],
  );
  assert.deepEqual(particularsOf(undefined, "bar"), []);
});
