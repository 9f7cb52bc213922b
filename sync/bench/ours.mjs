import { closeSync, fsyncSync, openSync, writeSync } from "node:fs";
import http from "node:http";
import { gunzipSync, gzipSync } from "node:zlib";
import { change, newId, timed } from "./records.mjs";

/** ours gives a phone's side of the exchange over HTTP; what is pulled is written to a file and synced before the next piece is asked for. */
export async function ours({ port, folder, run, batch, password }) {
  const agent = new http.Agent({ keepAlive: true, maxSockets: 64 });
  let requests = 0;
  const post = (path, body, headers = {}) =>
    new Promise((done, failed) => {
      requests++;
      const q = http.request({ host: "127.0.0.1", port, path, method: "POST", agent, headers: { "content-type": "application/json", "content-length": body.length, ...headers } }, (r) => {
        const parts = [];
        r.on("data", (d) => parts.push(d));
        r.on("end", () => {
          const b = Buffer.concat(parts);
          const text = (r.headers["content-encoding"] === "gzip" ? gunzipSync(b) : b).toString();
          r.statusCode < 300 ? done(JSON.parse(text)) : failed(new Error(`${path}: ${r.statusCode} ${text.slice(0, 200)}`));
        });
      });
      q.on("error", failed);
      q.end(body);
    });
  const login = await post("/api/login", Buffer.from(JSON.stringify({ name: "administrator", password })));
  const authorization = `Bearer ${login.access}`;
  const author = login.user.id;
  let fresh = 0;
  const device = () => ({ id: newId(), seq: 0, place: { store: "", epoch: "", root: "", cursor: 0 }, held: 0 });
  // exchange sends some changes, as texts, and takes what there is for the device.
  const exchange = async (d, changes, limit) => {
    const head = JSON.stringify({ ...d.place, nonce: newId().slice(0, 12), device: d.id, limit });
    const text = Buffer.from(changes.length ? `${head.slice(0, -1)},"changes":[${changes.join(",")}]}` : `${head.slice(0, -1)},"changes":[]}`);
    const pressed = text.length > 1024;
    const body = pressed ? gzipSync(text, { level: 1 }) : text;
    const reply = await post("/api/sync", body, { authorization, "accept-encoding": "gzip", ...(pressed ? { "content-encoding": "gzip" } : {}) });
    if (reply.acknowledged.length !== changes.length) throw new Error(`${reply.acknowledged.length} of ${changes.length} acknowledged: ${JSON.stringify(reply.quarantined).slice(0, 300)}`);
    return reply;
  };
  const made = (d, list) => list.map((r) => change(r, d.id, ++d.seq, author));
  const push = async (d, changes) => {
    for (let i = 0; i < changes.length; i += batch) await exchange(d, changes.slice(i, i + batch), 1);
  };
  const pull = async (d) => {
    const file = openSync(`${folder}/${run}-${d.id}`, "a");
    for (let more = true; more; ) {
      const reply = await exchange(d, [], 2000);
      d.place = { store: reply.store, epoch: reply.epoch, root: reply.root, cursor: reply.cursor };
      more = reply.more;
      if (reply.changes.length === 0) continue;
      writeSync(file, JSON.stringify(reply.changes));
      fsyncSync(file);
      d.held += reply.changes.length;
    }
    closeSync(file);
  };
  const a = device();
  let b;
  return {
    async push(list) {
      const changes = made(a, list);
      return timed(() => push(a, changes));
    },
    pull: () => timed(async () => {
      b = device();
      await pull(b);
      fresh = b.held;
    }),
    idle: () => timed(() => exchange(b, [], 2000)),
    async few(list) {
      const changes = made(a, list);
      return timed(async () => {
        await push(a, changes);
        await pull(b);
      });
    },
    async many(lists) {
      const all = lists.map((list) => {
        const d = device();
        return [d, made(d, list)];
      });
      return timed(() => Promise.all(all.map(([d, changes]) => push(d, changes))));
    },
    stored: () => fresh,
    requests: () => requests,
  };
}
