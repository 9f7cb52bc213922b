// Reads a record of a million rows through the calculation module in pieces, as the phone does, and
// prints how long it takes. Use: go run ./cmd/webbuild -module bin/calc.wasm && node
// webapp/test/trace-speed.mjs bin/calc.wasm [rows]
import { readFileSync } from "node:fs";
import { start } from "./reactor.mjs";

const rows = Number(process.argv[3] ?? 1_000_000);
const call = await start(readFileSync(process.argv[2]));
const made = [];
for (let i = 0; i < rows; i++) made.push(`${(i / 100).toFixed(2)};${(10 + Math.sqrt(i % 1000) / 1000).toFixed(5)};${(20 + (i % 100) / 100).toFixed(2)}`);
const file = new TextEncoder().encode(`time [s];pressure [bar];temperature [degC]\n${made.join("\n")}\n`);
made.length = 0;
const piece = 1 << 20;
const reading = {
	separator: ";", decimal: ".", first_line: 2, time: { form: "number", column: 1, unit: "s" }, p: { column: 2, unit: "bar", mode: "gauge" },
	temperature: { column: 3, unit: "degC" }, unit: "bar", gap_s: 0.1, thin: { to: "extremes", block: Math.ceil((6 * rows) / 10_000) },
};
const begun = performance.now();
let state, kept = 0;
for (let at = 0, last = false; !last; ) {
	last = at + piece >= file.length;
	const bytes = file.subarray(at, at + piece);
	const head = new TextEncoder().encode(`bytes/trace\n${JSON.stringify({ do: "read", last, reading, ...(state ? { state } : {}) })}\n`);
	const request = new Uint8Array(head.length + bytes.length);
	request.set(head);
	request.set(bytes, head.length);
	const reply = JSON.parse(new TextDecoder().decode(call(request)));
	if (reply.error) throw new Error(JSON.stringify(reply.error));
	state = reply.state;
	kept += reply.samples.t_s.length;
	at += reply.used;
	call.tidy();
}
const took = performance.now() - begun;
if (state.used !== rows) throw new Error(`${state.used} of ${rows} rows used`);
console.log(`${rows} rows, ${(file.length / 1e6).toFixed(1)} MB: ${took.toFixed(0)} ms, ${kept} samples kept, module's memory ${(call.memory() / 1e6).toFixed(0)} MB`);
