// Digests of the calculation module's replies to the requests on standard input, under node or in a
// browser. Use: bitdigest documents 1 2000 | node wasm-bits.mjs calc.wasm [CHROMIUM]
import { readFileSync } from "node:fs";
import { createServer } from "node:http";
import { Digests } from "./digest.mjs";
import { Frames, start } from "./reactor.mjs";

const [module, browser] = process.argv.slice(2);

if (browser) await inBrowser();
else await here();

async function here() {
	const digests = new Digests(await start(readFileSync(module)), (line) => console.log(line));
	const frames = new Frames();
	for await (const piece of process.stdin) {
		for (const request of frames.add(piece)) digests.take(request);
	}
	digests.end();
}

// The page fetches one piece of standard input after another, processes it in a worker, and posts
// the lines.
async function inBrowser() {
	const { chromium } = await import("playwright-core");
	const input = process.stdin[Symbol.asyncIterator]();
	let finished, failed;
	const done = new Promise((resolve, reject) => { finished = resolve; failed = reject; });
	const here = (name) => readFileSync(new URL(name, import.meta.url));
	const worker = `
		import { Digests } from "./digest.mjs";
		import { Frames, start } from "./reactor.mjs";
		try {
			const lines = [];
			const digests = new Digests(await start(await (await fetch("/calc.wasm")).arrayBuffer()), (line) => lines.push(line));
			const frames = new Frames();
			for (;;) {
				const piece = new Uint8Array(await (await fetch("/piece")).arrayBuffer());
				if (piece.length === 0) break;
				for (const request of frames.add(piece)) digests.take(request);
			}
			digests.end();
			await fetch("/lines", { method: "POST", body: lines.join("\\n") });
		} catch (e) {
			await fetch("/failed", { method: "POST", body: String(e) });
		}`;
	const server = createServer(async (request, response) => {
		try {
			const reply = (type, body) => { response.writeHead(200, { "content-type": type }); response.end(body); };
			let body = "";
			if (request.method === "POST") for await (const piece of request) body += piece;
			switch (request.url) {
				case "/calc.wasm": return reply("application/wasm", readFileSync(module));
				case "/reactor.mjs": case "/digest.mjs": return reply("text/javascript", here(`.${request.url}`));
				case "/worker.mjs": return reply("text/javascript", worker);
				case "/": return reply("text/html", `<!doctype html><script type="module">new Worker("/worker.mjs", { type: "module" })</script>`);
				case "/piece": {
					const pieces = [];
					for (let size = 0; size < 1 << 20; ) {
						const next = await input.next();
						if (next.done) break;
						pieces.push(next.value);
						size += next.value.length;
					}
					return reply("application/octet-stream", Buffer.concat(pieces));
				}
				case "/lines": reply("text/plain", ""); return finished(body);
				case "/failed": reply("text/plain", ""); return failed(new Error(body));
			}
			response.writeHead(404);
			response.end();
		} catch (e) {
			failed(e);
		}
	});
	await new Promise((ready) => server.listen(0, "127.0.0.1", ready));
	const program = await chromium.launch({ executablePath: browser, args: ["--no-sandbox"] });
	try {
		const page = await program.newPage();
		page.on("crash", () => failed(new Error("the page crashed")));
		await page.goto(`http://127.0.0.1:${server.address().port}/`);
		console.log(await done);
	} finally {
		await program.close();
		server.close();
	}
}
