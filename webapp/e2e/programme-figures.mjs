// How long the check of a programme of 10,000 steps takes in the phone's module, in Chromium with its processor slowed down four times.
// Use: node e2e/programme-figures.mjs [steps] after `make build`.
import { availableParallelism, loadavg } from "node:os";
import { slowModule } from "./slow-module.mjs";

const steps = Number(process.argv[2] ?? 10_000);
const rounds = 15;
const goal = 50;
const group = (i) => [
  `set ${["100", "250.5", "400"][i % 3]} at 10/s`,
  "settle within 0.2 for 10 s, at most 90 s",
  "read a from gauge",
  "if abs(a - 250) > 200.5 and not a < 2 {",
  '  note "far"',
  "}",
];
const text = ["unit kPa gauge", ...Array.from({ length: Math.floor(steps / 5) }, (_, i) => group(i)).flat(), "vent", ""].join("\n");
const document = { programme: text, instrument: { low: "0", high: "1000", max_rate: "20" }, standard: { low: "0", high: "700", max_rate: "20" } };
const module = await slowModule();
try {
  const time = async (rate, what, request) => {
    const { took, middle, reply } = await module.time(rate, `calc/plan\n${JSON.stringify(request)}`, rounds);
    const r = JSON.parse(reply);
    if (r.error || r.findings.length > 0) throw new Error(reply.slice(0, 500));
    console.log(`${what}: ${middle.toFixed(1)} ms (${took[0].toFixed(1)} to ${took.at(-1).toFixed(1)}), ${reply.length} bytes of answer`);
    return middle;
  };
  console.log(`${steps} steps, ${text.length} bytes; ${availableParallelism()} cores, load ${loadavg()[0].toFixed(1)}; middle of ${rounds}`);
  await time(1, "warming up", document);
  await time(1, "whole answer", document);
  await time(1, "findings alone", { ...document, only: "findings" });
  await time(4, "whole answer, processor 4 times slower", document);
  const took = await time(4, "findings alone, processor 4 times slower", { ...document, only: "findings" });
  console.log(took <= goal ? `the goal of ${goal} ms is met` : `the goal of ${goal} ms is missed ${(took / goal).toFixed(1)} times over`);
} finally {
  await module.close();
}
