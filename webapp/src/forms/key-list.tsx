import { useState } from "preact/hooks";
import { Complaint, send, useAsk, useDoing, Waiting } from "../nav/asking";
import { Button } from "../parts/button";
import { Choice, Field } from "../parts/field";
import { useLive } from "../store/hooks";
import { signingWords as w } from "../words/signing";
import { showDateTime } from "../words/words";

/** A signing key of a person or of the laboratory. */
export type KeyRow = {
  id: string;
  kid: string;
  of: "person" | "office";
  person: string;
  name: string;
  device: string;
  alg: string;
  made: string;
  used: string;
  signed: number;
  state: string;
  ended: string;
  why: string;
};

const when = (at: string) => showDateTime(at);

/** Withdraw asks why a key is withdrawn, and withdraws it. */
function Withdraw({ row, onKept }: { row: KeyRow; onKept: () => void }) {
  const [open, setOpen] = useState(false);
  const [how, setHow] = useState<"withdrawn" | "lost">("withdrawn");
  const [why, setWhy] = useState("");
  const d = useDoing();
  const go = () =>
    d.run(async () => {
      await send(`/api/keys/${encodeURIComponent(row.id)}/end`, { why, lost: how === "lost" });
      onKept();
    });
  if (!open)
    return (
      <Button label={w.withdrawOf(row.kid.slice(0, 8))} onClick={() => setOpen(true)}>
        {w.withdraw}
      </Button>
    );
  return (
    <fieldset class="caution">
      <legend>{w.withdrawOf(row.kid.slice(0, 8))}</legend>
      <p>{w.sure}</p>
      <Choice
        label={w.what}
        value={how}
        onChange={setHow}
        options={[["withdrawn", w.kinds.withdrawn] as const, ["lost", w.kinds.lost] as const]}
      />
      {how === "lost" ? <p>{w.lostHint}</p> : null}
      <Field label={w.reason} value={why} onInput={setWhy} autocomplete="off" />
      <Complaint error={d.error} />
      <div class="buttons">
        <Button kind="main" disabled={d.busy || why.trim() === ""} onClick={go}>
          {w.now}
        </Button>
        <Button onClick={() => setOpen(false)}>{w.leave}</Button>
      </div>
    </fieldset>
  );
}

/** Confirm confirms that a key which came through a hub belongs to this person. */
function Confirm({ row, onKept }: { row: KeyRow; onKept: () => void }) {
  const d = useDoing();
  const go = () =>
    d.run(async () => {
      await send(`/api/keys/${encodeURIComponent(row.id)}/confirm`, {});
      onKept();
    });
  return (
    <>
      <p class="small quiet">{w.confirmHint}</p>
      <Button disabled={d.busy} onClick={go}>
        {w.confirm}
      </Button>
      <Complaint error={d.error} />
    </>
  );
}

/** KeyList lists keys. Those of people that are in use can be withdrawn. */
export function KeyList({
  rows,
  named,
  confirms = false,
  here = "",
  onKept,
}: {
  rows: KeyRow[];
  /** Whether each row names the owner of the key. */
  named: boolean;
  confirms?: boolean;
  /** The id of this device's own key. */
  here?: string | undefined;
  onKept: () => void;
}) {
  if (rows.length === 0) return <p class="quiet">{w.none}</p>;
  return (
    <ul class="rows key-rows">
      {rows.map((k) => (
        <li key={k.id}>
          <p>
            {named ? <span class="lead">{k.of === "office" ? w.office : k.name || k.person} </span> : null}
            <span>{[k.id === here ? w.here : "", w.states[k.state] ?? k.state].filter(Boolean).join(", ")}</span>
            <br />
            <span class="small">
              {[
                k.device === "" ? "" : w.device(k.device),
                w.made(when(k.made)),
                k.used === "" ? w.unused : w.used(when(k.used), k.signed),
                k.ended === "" ? "" : w.ended(when(k.ended), k.why),
              ]
                .filter(Boolean)
                .join(" · ")}
            </span>
            <br />
            <span class="small quiet">
              {w.print} ({k.alg}): <code class="print">{k.kid}</code>
            </span>
          </p>
          {confirms && k.state === "unconfirmed" ? <Confirm row={k} onKept={onKept} /> : null}
          {k.of === "person" && k.ended === "" ? <Withdraw row={k} onKept={onKept} /> : null}
        </li>
      ))}
    </ul>
  );
}

/** OwnKeys lists a person's own signing keys. */
export function OwnKeys({ user }: { user: string }) {
  const asked = useAsk<{ keys: KeyRow[] }>("/api/account/keys");
  const here = useLive(
    async () => (await import("../store/keys")).keyOf(user),
    (n) => n.kinds.includes("key"),
    [user],
  );
  return (
    <>
      <h3>{w.own}</h3>
      <p class="quiet">{w.ownHint}</p>
      <Waiting asked={asked} />
      {asked.reply ? <KeyList rows={asked.reply.keys} named={false} here={here} onKept={asked.again} /> : null}
    </>
  );
}
