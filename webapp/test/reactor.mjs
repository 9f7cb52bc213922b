// The calculation module outside a browser's worker: start(bytes) gives call(request bytes) → reply
// bytes, valid until the next call.

async function instantiate(bytes, complain) {
	const told = new TextEncoder().encode("GOGC=off\0GOMEMLIMIT=128MiB\0"); // as in the phone's worker
	let memory;
	const view = () => new DataView(memory.buffer);
	const none = (count, size) => (view().setUint32(count, 0, true), view().setUint32(size, 0, true), 0);
	const wasi = {
		sched_yield: () => 0,
		proc_exit: (code) => { throw new Error(`the module ended with ${code}`); },
		args_get: () => 0, args_sizes_get: none,
		environ_sizes_get: (count, size) => (view().setUint32(count, 2, true), view().setUint32(size, told.length, true), 0),
		environ_get: (list, at) => {
			view().setUint32(list, at, true), view().setUint32(list + 4, at + told.indexOf(0) + 1, true);
			new Uint8Array(memory.buffer, at, told.length).set(told);
			return 0;
		},
		clock_time_get: (_id, _precision, at) => (view().setBigUint64(at, 1n, true), 0),
		random_get: (at, n) => (new Uint8Array(memory.buffer, at, n).fill(7), 0),
		poll_oneoff: (_in, _out, _n, events) => (view().setUint32(events, 0, true), 0),
		fd_write: (_fd, vectors, count, written) => {
			let n = 0;
			for (let i = 0; i < count; i++) {
				const at = view().getUint32(vectors + 8 * i, true), length = view().getUint32(vectors + 8 * i + 4, true);
				complain(new Uint8Array(memory.buffer, at, length));
				n += length;
			}
			view().setUint32(written, n, true);
			return 0;
		},
	};
	const { instance } = await WebAssembly.instantiate(bytes, { wasi_snapshot_preview1: wasi });
	memory = instance.exports.memory;
	instance.exports._initialize();
	return instance;
}

/** @param {BufferSource} bytes @param {(text: Uint8Array) => void} [complain] */
export async function start(bytes, complain = () => {}) {
	const instance = await instantiate(bytes, complain);
	const { memory } = instance.exports;
	const call = (request) => {
		const at = instance.exports.reserve(request.length);
		new Uint8Array(memory.buffer, at, request.length).set(request); // the view is taken after reserve: growth detaches older ones
		const length = instance.exports.call();
		return new Uint8Array(memory.buffer, instance.exports.reply(), length);
	};
	call.tidy = () => instance.exports.tidy();
	call.memory = () => memory.buffer.byteLength;
	return call;
}
start.instance = instantiate;

// Frames reads a stream of requests, each preceded by its length in four bytes, and gives complete
// requests.
export class Frames {
	rest = new Uint8Array(0);

	*add(piece) {
		let all = piece;
		if (this.rest.length > 0) {
			all = new Uint8Array(this.rest.length + piece.length);
			all.set(this.rest);
			all.set(piece, this.rest.length);
		}
		const view = new DataView(all.buffer, all.byteOffset, all.byteLength);
		let at = 0;
		while (at + 4 <= all.length) {
			const end = at + 4 + view.getUint32(at, true);
			if (end > all.length) break;
			yield all.subarray(at + 4, end);
			at = end;
		}
		this.rest = all.slice(at);
	}
}

// calculation gives the calculation that a request is for.
export const calculation = (request) => String.fromCharCode(...request.subarray(5, request.indexOf(10)));
