import { createServer, connect } from "node:net";
import { randomBytes } from "node:crypto";

/**
 * record gives a field record of exactly 1,500 bytes of JSON, the same for the same number and
 * name.
 */
export function record(n, name = "op") {
  let x = ((n + 1) * 2654435761) >>> 0;
  const random = () => (x = (Math.imul(x, 1664525) + 1013904223) >>> 0) / 4294967296;
  const r = {
    _id: `${name}-${String(n).padStart(6, "0")}`,
    kind: "reading",
    device: `dev-${n % 50}`,
    seq: n,
    at: new Date(1.7e12 + n * 1000).toISOString(),
    values: Array.from({ length: 24 }, () => Number((random() * 1000).toFixed(4))),
    note: "",
  };
  for (let k = 1500 - JSON.stringify(r).length; k > 0; k--) r.note += Math.floor(random() * 36).toString(36);
  return r;
}

const letters = "0123456789abcdefghjkmnpqrstvwxyz";

/** newId gives 26 letters as the phone does: 10 from the clock and 16 random ones. */
export const newId = () => {
  let id = "";
  for (let n = Date.now(); id.length < 10; n = Math.floor(n / 32)) id = letters[n % 32] + id;
  return id + Array.from(randomBytes(16), (b) => letters[b & 31]).join("");
};

/** change wraps a record into the change that a phone would send, in canonical form. */
export const change = (r, device, seq, author) => written(device, seq, author, newId(), "visit", "", "reading", r);

/** written gives a change of one field in canonical form. */
export function written(device, seq, author, record, kind, parent, field, value) {
  const wall = "2026-03-04T05:06:07.089Z";
  const hex = (n) => n.toString(16).padStart(12, "0");
  return JSON.stringify({
    v: 1,
    id: newId(),
    device,
    seq,
    author,
    wall,
    stamp: `${hex(seq)}-${hex(Date.parse(wall) + 2 ** 47)}-${device}`,
    record,
    kind,
    site: "",
    parent,
    set: [{ field, value, sees: [] }],
  });
}

/** captures gives a phone's readings: a number of readings on each run, one run after the other. */
export const captures = (n, runs) =>
  Array.from({ length: n }, (_, i) => ({
    run: Math.floor((i * runs) / n),
    value: {
      step: `up.${i % 20}`,
      of: "indicated",
      value: ((i * 7919) % 1000) / 100,
      unit: "bar",
      at: new Date(1.7e12 + i * 1000).toISOString(),
    },
  }));

/** counting puts a proxy that counts bytes in front of a server. */
export const counting = (port) =>
  new Promise((done) => {
    const n = { up: 0, down: 0 };
    const s = createServer((a) => {
      const b = connect(port, "127.0.0.1");
      a.setNoDelay();
      b.setNoDelay();
      a.on("data", (d) => (n.up += d.length));
      b.on("data", (d) => (n.down += d.length));
      const end = () => (a.destroy(), b.destroy());
      for (const x of [a, b]) x.on("error", end).on("close", end);
      a.pipe(b);
      b.pipe(a);
    });
    s.listen(0, "127.0.0.1", () =>
      done({ port: s.address().port, close: () => s.close(), take: () => ({ ...n, clear: void (n.up = n.down = 0) }) }),
    );
  });

export const now = () => Number(process.hrtime.bigint()) / 1e6;

export const timed = async (work) => {
  const t = now();
  await work();
  return now() - t;
};

export const median = (list) => [...list].sort((a, b) => a - b)[Math.floor(list.length / 2)];
