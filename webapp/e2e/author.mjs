// Writes records through the API as one person, with a device of their own.
import assert from "node:assert/strict";
import { randomBytes } from "node:crypto";
import { asPerson } from "./pocket.mjs";

const letters = "0123456789abcdefghjkmnpqrstvwxyz";
export const newId = () => [...randomBytes(26)].map((b) => letters[b % 32]).join("");

/**
 * The highest count that any author here has written: a device counts above everything that it has
 * seen.
 */
let count = 1_000_000;

/**
 * author gives write(kind, fields, parent, record, sees). It sends one change, which has seen these
 * changes of each of its fields, and gives the record's id. latest is the last change written.
 */
export async function author(plant, person) {
  const ask = await asPerson(plant, person);
  const { user } = await (
    await fetch(`${plant.url}/api/login`, {
      method: "POST",
      headers: { "content-type": "application/json" },
      body: JSON.stringify({ name: person.name, password: person.password }),
    })
  ).json();
  const device = newId();
  let seq = 0;
  let place = { store: "", epoch: "", root: "", cursor: 0 };
  return {
    ask,
    user,
    latest: "",
    /** A method is drafted, and put into force by another person of the office if there is one. */
    async method({ name, definition, cautions = [] }) {
      const record = newId();
      const draft = { name, definition, cautions, at: new Date().toISOString() };
      await this.put("method", { [`draft.${user.id}`]: draft }, "", record);
      const wanted = { draft: user.id, change: this.latest, version: 0 };
      const second = Object.values(plant.people).find((p) => p.role !== "technician" && p.name !== person.name);
      const by = second ? await asPerson(plant, second) : ask;
      await by(`/api/office/methods/${record}/approve`, "POST", { ...wanted, alone: second === undefined });
      return record;
    },
    async write(kind, fields, parent = "", record = newId(), sees = []) {
      return kind === "method" ? this.method(fields) : this.put(kind, fields, parent, record, sees);
    },
    async put(kind, fields, parent, record, sees = []) {
      seq++;
      count++;
      this.latest = newId();
      const now = Date.now();
      const hex = (n) => n.toString(16).padStart(12, "0");
      const change = {
        v: 1,
        id: this.latest,
        device,
        seq,
        author: user.id,
        wall: new Date(now).toISOString(),
        stamp: `${hex(count)}-${hex(now)}-${device}`,
        record,
        kind,
        site: "",
        parent,
        set: Object.entries(fields)
          .sort(([a], [b]) => (a < b ? -1 : 1))
          .map(([field, value]) => ({ field, value, sees })),
      };
      const reply = await ask("/api/sync", "POST", { ...place, nonce: newId(), device, changes: [change], limit: 1 });
      assert.deepEqual(reply.quarantined ?? [], [], `${kind} is taken`);
      place = { store: reply.store, epoch: reply.epoch, root: reply.root, cursor: reply.cursor };
      return record;
    },
  };
}
