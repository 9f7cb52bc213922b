import { useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { useLink } from "../../nav/status";
import { useLive } from "../../store/hooks";
import { commit, record } from "../../store/store";
import type { Role } from "../../wire/api";
import { type Head, heads, type Json, type RecordState, text } from "../../wire/records";
import { showDateTime, words } from "../../words/words";

const technicians: readonly string[] = ["place", "note"];

/** mayChoose says whether a role may write a field of an instrument. The office checks it again. */
export function mayChoose(role: Role | undefined, field: string): boolean {
  return role !== undefined && (role !== "technician" || technicians.includes(field));
}

/** settle writes one of the contested values again, by a change that has seen all of them. */
export function settle(of: RecordState, field: string, value: Json) {
  return commit({ record: of.id, kind: of.kind, site: of.site, parent: of.parent, set: [{ field, value }] });
}

/**
 * Against shows the values of a field that people wrote without having seen each other's. It lets a
 * person who may do so choose one.
 */
export function Against({ of, field }: { of: RecordState; field: string }) {
  const role = useLink().user?.role;
  const list = heads(of, field);
  const authors = list.map((h) => h.author).join(" ");
  const people = useLive(
    async () => Promise.all(list.map(async (h) => text(await record(h.author), "name"))),
    (n) => n.kinds.includes("person"),
    [authors],
  );
  const [busy, setBusy] = useState(false);
  const [broken, setBroken] = useState(false);
  const w = words.instrument;
  const may = mayChoose(role, field);
  const choose = (h: Head) => {
    setBusy(true);
    setBroken(false);
    settle(of, field, h.value)
      .catch((e: unknown) => {
        console.error(e);
        setBroken(true);
      })
      .finally(() => setBusy(false));
  };
  return (
    <>
      <ul class="against">
        {list.map((h, n) => {
          const shown = typeof h.value === "string" ? h.value : JSON.stringify(h.value);
          const who = people?.[n] || h.author.slice(0, 6);
          return (
            <li key={h.change}>
              <p>
                {shown}
                <br />
                <span class="small quiet">{w.wrote(who, showDateTime(h.wall), h.device.slice(0, 6))}</span>
              </p>
              {may ? (
                <Button disabled={busy} label={w.keepThisLabel(shown, who)} onClick={() => choose(h)}>
                  {w.keepThis}
                </Button>
              ) : null}
            </li>
          );
        })}
      </ul>
      {may ? null : <p class="small quiet">{w.officeChooses}</p>}
      {broken ? <p role="alert">{words.shell.storeBroken}</p> : null}
    </>
  );
}
