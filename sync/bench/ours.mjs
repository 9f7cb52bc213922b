import { closeSync, fsyncSync, openSync, writeSync } from "node:fs";
import { connect } from "node:http2";
import { promisify } from "node:util";
import { gunzipSync, gzip } from "node:zlib";
import { change, newId, timed, written as writes } from "./records.mjs";

/**
 * ours gives a phone's side of the exchange over HTTP; what is pulled is written to a file and
 * synced before the next piece is asked for.
 */
export async function ours({ port, folder, run, batch, password }) {
  let requests = 0;
  // As a browser does over TLS: HTTP/2, one connection to a device.
  const line = () => {
    const c = connect(`http://127.0.0.1:${port}`, { settings: { initialWindowSize: 8 << 20 } });
    c.on("connect", () => c.setLocalWindowSize(16 << 20));
    return c;
  };
  const post = (on, path, body, headers = {}) =>
    new Promise((done, failed) => {
      requests++;
      const q = on.request({
        ":method": "POST",
        ":path": path,
        "content-type": "application/json",
        "content-length": body.length,
        ...headers,
      });
      const parts = [];
      let head = {};
      q.on("response", (h) => (head = h));
      q.on("data", (d) => parts.push(d));
      q.on("end", () => {
        const b = Buffer.concat(parts);
        const text = (head["content-encoding"] === "gzip" ? gunzipSync(b) : b).toString();
        head[":status"] < 300
          ? done(JSON.parse(text))
          : failed(new Error(`${path}: ${head[":status"]} ${text.slice(0, 200)}`));
      });
      q.on("error", failed);
      q.end(body);
    });
  const first = line();
  const login = await post(first, "/api/login", Buffer.from(JSON.stringify({ name: "administrator", password })));
  const authorization = `Bearer ${login.access}`;
  const author = login.user.id;
  let fresh = 0;
  const device = (on = line()) => ({
    on,
    id: newId(),
    seq: 0,
    place: { store: "", epoch: "", root: "", cursor: 0, scope: "" },
    held: 0,
  });
  const pack = promisify(gzip);
  // written gives the body of a request that brings some changes, as texts.
  const written = async (d, changes, limit) => {
    const head = JSON.stringify({
      ...d.place,
      nonce: newId().slice(0, 12),
      device: d.id,
      ...(changes.length ? { limit } : { brief: true }),
    });
    const text = Buffer.from(`${head.slice(0, -1)},"changes":[${changes.join(",")}]}`);
    const pressed = text.length > 1024;
    return {
      changes,
      body: pressed ? await pack(text, { level: 1 }) : text,
      coding: pressed ? { "content-encoding": "gzip" } : {},
    };
  };
  // exchange sends that and takes what there is for the device.
  const exchange = async (d, { changes, body, coding }) => {
    const reply = await post(d.on, "/api/sync", body, { authorization, "accept-encoding": "gzip", ...coding });
    if (reply.same) return { ...d.place, more: false, changes: [] };
    if (reply.acknowledged.length !== changes.length)
      throw new Error(
        `${reply.acknowledged.length} of ${changes.length} acknowledged: ${JSON.stringify(reply.quarantined).slice(0, 300)}`,
      );
    return reply;
  };
  const made = (d, list) => list.map((r) => change(r, d.id, ++d.seq, author));
  // push makes the next request ready while the one before it is on its way; each is answered
  // before the next is sent.
  const push = async (d, changes, most = batch) => {
    let ready = written(d, changes.slice(0, most), 1);
    for (let i = most; ; i += most) {
      const now = await ready;
      if (i < changes.length) ready = written(d, changes.slice(i, i + most), 1);
      await exchange(d, now);
      if (i >= changes.length) return;
    }
  };
  const pull = async (d) => {
    const file = openSync(`${folder}/${run}-${d.id}`, "a");
    for (let more = true; more; ) {
      const reply = await exchange(d, await written(d, []));
      d.place = { store: reply.store, epoch: reply.epoch, root: reply.root, cursor: reply.cursor, scope: "" };
      more = reply.more;
      if (reply.changes.length === 0) continue;
      writeSync(file, JSON.stringify(reply.changes));
      fsyncSync(file);
      d.held += reply.changes.length;
    }
    closeSync(file);
  };
  const a = device(first);
  let b;
  return {
    async push(list) {
      const changes = made(a, list);
      return timed(() => push(a, changes));
    },
    /** captures pushes readings as phones have them: 200 at once. */
    async captures(list) {
      const d = device(first);
      const visit = newId();
      const runs = Array.from({ length: 1 + Math.max(...list.map((c) => c.run)) }, () => newId());
      const changes = list.map((c) =>
        writes(d.id, ++d.seq, author, runs[c.run], "run", visit, `capture.${newId()}`, c.value),
      );
      return timed(() => push(d, changes, 200));
    },
    pull: () =>
      timed(async () => {
        b = device(first);
        await pull(b);
        fresh = b.held;
      }),
    idle: () => timed(async () => exchange(b, await written(b, []))),
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
