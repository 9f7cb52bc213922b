import assert from "node:assert/strict";
import { test } from "node:test";
import { alikeIn } from "../src/views/warnings";

test("warnings that differ only in their numbers are shown as one; any other warning is shown by itself", () => {
  const warned = (...messages: string[]) =>
    alikeIn({ warnings: messages.map((message) => ({ code: "x", field: "", message })) });
  const rate = (from: string, to: string, feet: string) =>
    `from ${from} ft to ${to} ft it went at no less than ${feet} ft/min`;
  const rates = [rate("−1,000", "0", "6012"), rate("0", "500", "7100.5"), rate("500", "1,000", "6000")];
  assert.deepEqual(warned(rates[0] ?? "", "a line was left open", rates[1] ?? "", rates[2] ?? ""), [
    rates,
    ["a line was left open"],
  ]);
  assert.deepEqual(warned("high was not read", "low was not read"), [["high was not read"], ["low was not read"]]);
  assert.deepEqual(warned("the same", "the same"), [["the same", "the same"]]);
  assert.deepEqual(alikeIn({}), []);
});
