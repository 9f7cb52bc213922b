// Measures how long the evaluation of a record of 10,000 samples, and of a gauge of 66 readings and
// ten terms, takes in the phone's module, in Chromium with its processor slowed down four times.
// Use, after `make build`: SHEETS=/tmp/sheets go test ./calc -run TestLongTrace -count 1 && node
// webapp/e2e/evaluate-figures.mjs /tmp/sheets
import { readdirSync, readFileSync } from "node:fs";
import { availableParallelism, loadavg } from "node:os";
import { join } from "node:path";
import { slowModule } from "./slow-module.mjs";

const folder = process.argv[2];
const rounds = 31;
const module = await slowModule();
try {
  console.log(`${availableParallelism()} cores, load ${loadavg()[0].toFixed(1)}; middle of ${rounds}`);
  for (const file of readdirSync(folder)) {
    const sheet = readFileSync(join(folder, file), "utf8");
    const [room, goal] = file === "gauge" ? ["gauge", 1] : ["evaluate", 40];
    for (const rate of [1, 4]) {
      if (rate === 1) for (let i = 0; i < 4; i++) await module.time(1, `calc/${room}\n${sheet}`, rounds);
      const { took, middle, reply } = await module.time(rate, `calc/${room}\n${sheet}`, rounds);
      if (JSON.parse(reply).error) throw new Error(reply.slice(0, 500));
      const said =
        rate === 1 ? "" : middle <= goal ? `, the goal of ${goal} ms is met` : `, the goal of ${goal} ms is missed`;
      console.log(
        `${file}, processor ${rate} times slower: ${middle.toFixed(1)} ms (${took[0].toFixed(1)} to ${took.at(-1).toFixed(1)}), ${sheet.length} bytes in${said}`,
      );
    }
  }
} finally {
  await module.close();
}
