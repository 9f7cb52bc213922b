// Runs the calculation module on requests read from standard input, one JSON text "NAME\nDOCUMENT" per line; one reply per line.
// Use: node wasm-run.mjs calc.wasm < requests
import { readFileSync } from "node:fs";

export async function start(bytes) {
	let memory;
	const view = () => new DataView(memory.buffer);
	const none = (count, size) => (view().setUint32(count, 0, true), view().setUint32(size, 0, true), 0);
	const wasi = {
		sched_yield: () => 0,
		proc_exit: (code) => { throw new Error(`the module ended with ${code}`); },
		args_get: () => 0, args_sizes_get: none, environ_get: () => 0, environ_sizes_get: none,
		clock_time_get: (_id, _precision, at) => (view().setBigUint64(at, 1n, true), 0),
		random_get: (at, n) => (new Uint8Array(memory.buffer, at, n).fill(7), 0),
		poll_oneoff: (_in, _out, _n, events) => (view().setUint32(events, 0, true), 0),
		fd_write: (_fd, vectors, count, written) => {
			let n = 0;
			for (let i = 0; i < count; i++) {
				const at = view().getUint32(vectors + 8 * i, true), length = view().getUint32(vectors + 8 * i + 4, true);
				process.stderr.write(new Uint8Array(memory.buffer, at, length));
				n += length;
			}
			view().setUint32(written, n, true);
			return 0;
		},
	};
	const { instance } = await WebAssembly.instantiate(bytes, { wasi_snapshot_preview1: wasi });
	memory = instance.exports.memory;
	instance.exports._initialize();
	const encoder = new TextEncoder(), decoder = new TextDecoder();
	return (request) => {
		const text = encoder.encode(request);
		const at = instance.exports.reserve(text.length);
		new Uint8Array(memory.buffer, at, text.length).set(text); // the view is taken after reserve: growth detaches older ones
		const length = instance.exports.call();
		return decoder.decode(new Uint8Array(memory.buffer, instance.exports.reply(), length));
	};
}

const call = await start(readFileSync(process.argv[2]));
const replies = readFileSync(0, "utf8").split("\n").filter(Boolean).map((line) => call(JSON.parse(line)));
process.stdout.write(`${replies.join("\n")}\n`);
