// Times each calculation in the calculation module, with requests on standard input as
// calc/internal/bitdigest writes them. Use: go run ./calc/internal/bitdigest documents 1 50 | node
// webapp/test/wasm-bench.mjs calc.wasm
import { readFileSync } from "node:fs";
import { Frames, calculation, start } from "./reactor.mjs";

const bytes = readFileSync(process.argv[2]);
const begun = performance.now();
const call = await start(bytes);
console.log(`compile and start ${(performance.now() - begun).toFixed(0)} ms`);

const calculations = new Map();
for (const request of new Frames().add(readFileSync(0))) {
	const name = calculation(request);
	if (!calculations.has(name)) calculations.set(name, []);
	calculations.get(name).push(request);
}
if (calculations.size === 0) throw new Error("no request came in");

const round = (requests) => {
	let took = 0;
	for (const r of requests) {
		const from = performance.now();
		call(r);
		took += performance.now() - from;
		call.tidy(); // as the phone's worker does, after the answer
	}
	return took * 1000 / requests.length;
};
let sum = 0;
for (const [name, requests] of calculations) {
	const first = round(requests.slice(0, 1));
	for (let until = performance.now() + 100; performance.now() < until; ) round(requests);
	const times = [];
	for (let until = performance.now() + 300; performance.now() < until || times.length < 5; ) times.push(round(requests));
	times.sort((a, b) => a - b);
	const median = times[times.length >> 1];
	sum += median;
	console.log(`${name.padEnd(20)} ${median.toFixed(1).padStart(9)} µs a call, first ${first.toFixed(0).padStart(6)} µs`);
}
console.log(`${calculations.size} calculations, ${(sum / calculations.size).toFixed(1)} µs on average, memory ${(call.memory() / 1e6).toFixed(1)} MB`);
