// Digests of replies, in the form of calc/internal/bitdigest: one line NAME FIRST_SEED COUNT DIGEST
// REFUSED for each block of a calculation.
import { calculation } from "./reactor.mjs";

const block = 1000;

export class Digests {
	/**
	 * @param {((request: Uint8Array) => Uint8Array) & { tidy: () => void }} call @param {(line:
	 * string) => void} print
	 */
	constructor(call, print) {
		this.call = call;
		this.print = print;
		this.name = "";
		this.first = 1;
		this.start();
	}

	start() {
		// FNV-1a of 64 bits, in two halves.
		this.low = 0x84222325;
		this.high = 0xcbf29ce4;
		this.count = 0;
		this.refused = 0;
	}

	mix(byte) {
		const low = (this.low ^ byte) >>> 0;
		const product = low * 0x1b3;
		this.high = (Math.imul(this.high, 0x1b3) + Math.floor(product / 0x100000000) + (low << 8)) >>> 0;
		this.low = product >>> 0;
	}

	take(request) {
		const name = calculation(request);
		if (name !== this.name) {
			this.end();
			this.name = name;
			this.first = 1;
		} else if (this.count === block) {
			this.end();
		}
		if (this.count % 100 === 0) this.call.tidy();
		const reply = this.call(request);
		if (reply.length > 9 && String.fromCharCode(...reply.subarray(0, 9)) === '{"error":') this.refused++;
		for (let i = 0; i < reply.length; i++) this.mix(reply[i]);
		this.mix(10);
		this.count++;
	}

	end() {
		if (this.count === 0) return;
		const hex = (n) => n.toString(16).padStart(8, "0");
		this.print(`${this.name} ${this.first} ${this.count} ${hex(this.high)}${hex(this.low)} ${this.refused}`);
		this.first += this.count;
		this.start();
	}
}
