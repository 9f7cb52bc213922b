// How long the evaluation of a record of 10,000 samples takes in the phone's module, in Chromium with its processor slowed down four times.
// Use, after `make build`: SHEETS=/tmp/sheets go test ./calc -run TestLongTrace -count 1 && node webapp/e2e/evaluate-figures.mjs /tmp/sheets
import { readdirSync, readFileSync } from "node:fs";
import { availableParallelism, loadavg } from "node:os";
import { join } from "node:path";
import { slowModule } from "./slow-module.mjs";

const folder = process.argv[2];
const rounds = 15;
const goal = 40;
const module = await slowModule();
try {
  console.log(`${availableParallelism()} cores, load ${loadavg()[0].toFixed(1)}; middle of ${rounds}`);
  for (const file of readdirSync(folder)) {
    const sheet = readFileSync(join(folder, file), "utf8");
    for (const rate of [1, 4]) {
      if (rate === 1) await module.time(1, `calc/evaluate\n${sheet}`, rounds);
      const { took, middle, reply } = await module.time(rate, `calc/evaluate\n${sheet}`, rounds);
      if (JSON.parse(reply).error) throw new Error(reply.slice(0, 500));
      const said = rate === 1 ? "" : middle <= goal ? `, the goal of ${goal} ms is met` : `, the goal of ${goal} ms is missed`;
      console.log(`${file}, processor ${rate} times slower: ${middle.toFixed(1)} ms (${took[0].toFixed(1)} to ${took.at(-1).toFixed(1)}), ${sheet.length} bytes in${said}`);
    }
  }
} finally {
  await module.close();
}
