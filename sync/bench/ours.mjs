import { closeSync, fsyncSync, openSync, writeSync } from "node:fs";
import { connect } from "node:http2";
import { promisify } from "node:util";
import { gunzipSync, gzip } from "node:zlib";
import { change, newId, timed, written as writes } from "./records.mjs";

/**
 * ours plays a phone's side of the exchange over HTTP. What it pulls it writes to a file and syncs
 * before it asks for the next piece.
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
  const written = async (d, changes, limit, more = {}) => {
    const head = JSON.stringify({
      ...d.place,
      protocol: 3,
      nonce: newId().slice(0, 12),
      device: d.id,
      ...(changes.length ? { limit } : { brief: true }),
      ...more,
    });
    const text = Buffer.from(`${head.slice(0, -1)},"changes":[${changes.join(",")}]}`);
    const pressed = text.length > 1024;
    return {
      changes,
      body: pressed ? await pack(text, { level: 1 }) : text,
      coding: pressed ? { "content-encoding": "gzip" } : {},
    };
  };
  // exchange sends a request body and takes what the server has for the device.
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
  // push brings pieces as a phone does: one and the next, which is on its way before the answer to the
  // first and is taken after it. The two after them are made ready meanwhile.
  const push = async (d, changes, most = batch) => {
    const pair = (from) => {
      const nonce = newId().slice(0, 12);
      const two = [written(d, changes.slice(from, from + most), 1, { nonce })];
      if (from + most < changes.length)
        two.push(written(d, changes.slice(from + most, from + 2 * most), 1, { lane: 1, after: nonce }));
      return Promise.all(two);
    };
    let ready = pair(0);
    for (let i = 2 * most; ready; i += 2 * most) {
      const now = await ready;
      ready = i < changes.length ? pair(i) : undefined;
      await Promise.all(now.map((one) => exchange(d, one)));
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
