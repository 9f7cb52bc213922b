import { useState } from "preact/hooks";
import { ask } from "../../link/link";
import { Complaint, send, useAsk, useDoing } from "../../nav/asking";
import { Button } from "../../parts/button";
import { Field } from "../../parts/field";
import type { Account } from "../../records/office";
import { peopleWords as w } from "../../words/people";

/**
 * Provider shows the name under which a person logs in through the organization's provider, and
 * ends that.
 */
export function Provider({ path, account, onKept }: { path: string; account: Account; onKept: () => void }) {
  const here = useAsk<{ openid: boolean }>("/api/ways").reply?.openid ?? false;
  const [name, setName] = useState(account.provider ?? "");
  const d = useDoing();
  const keep = (work: () => Promise<unknown>) =>
    d.run(async () => {
      await work();
      onKept();
    });
  if (!here && account.provider === undefined) return null;
  return (
    <>
      <p class="small quiet">
        {account.provider === undefined ? w.providerHint : w.providerAs(account.provider, account.linked === true)}
      </p>
      {account.provider === undefined ? (
        <>
          <Field label={w.provider} value={name} onInput={setName} autocomplete="off" />
          <Button
            disabled={d.busy || name.trim() === ""}
            onClick={() => keep(() => send(`${path}/openid`, { name }, "PUT"))}
          >
            {w.providerKeep}
          </Button>
        </>
      ) : (
        <Button disabled={d.busy} onClick={() => keep(() => ask(`${path}/openid`, { method: "DELETE" }))}>
          {w.providerEnd}
        </Button>
      )}
      <Complaint error={d.error} />
    </>
  );
}
