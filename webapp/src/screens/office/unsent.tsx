import { useRef, useState } from "preact/hooks";
import { ask } from "../../link/link";
import { Button } from "../../parts/button";
import { syncWords } from "../../words/sync";
import { sentence } from "../../words/words";
import { Complaint, useDoing } from "../../nav/asking";

const w = syncWords.unsent;

type Refused = { id: string; reason: string };
export type Taken = {
  taken: number;
  known: number;
  quarantined: Refused[];
  photos: number;
  photos_known: number;
  photos_refused: Refused[];
};

const long = 600_000; // a file of weeks over a slow line

function Reasons({ title, list }: { title: string; list: Refused[] }) {
  return (
    <>
      <p>{title}</p>
      <ul class="small">
        {list.map((r, n) => (
          <li key={`${n} ${r.id}`}>
            {r.id.slice(0, 8)}: {sentence(r.reason)}
          </li>
        ))}
      </ul>
    </>
  );
}

/** UnsentFile imports the file to which a device saved what it could not send. */
export function UnsentFile({ onTaken }: { onTaken: () => void }) {
  const input = useRef<HTMLInputElement>(null);
  const [taken, setTaken] = useState<Taken | undefined>();
  const d = useDoing();
  const take = (file: File | undefined) => {
    if (!file) return;
    setTaken(undefined);
    d.run(async () => {
      const init = {
        method: "POST",
        body: file,
        headers: { "content-type": "application/json" },
        signal: AbortSignal.timeout(long),
      };
      setTaken((await ask("/api/office/unsent", init)) as Taken);
      onTaken();
    });
  };
  return (
    <>
      <h2>{w.title}</h2>
      <p class="quiet">{w.hint}</p>
      <input
        ref={input}
        type="file"
        accept=".json,application/json"
        hidden
        aria-label={w.choose}
        onChange={(e) => {
          take(e.currentTarget.files?.[0]);
          e.currentTarget.value = ""; // so that the same file can be chosen again
        }}
      />
      <Button kind="main" disabled={d.busy} onClick={() => input.current?.click()}>
        {w.choose}
      </Button>
      <div role="status">
        {d.busy ? <p>{w.reading}</p> : null}
        {taken ? (
          <>
            <p>{w.taken(taken.taken, taken.known)}</p>
            {taken.photos + taken.photos_known > 0 ? <p>{w.photos(taken.photos, taken.photos_known)}</p> : null}
            {taken.quarantined.length > 0 ? (
              <Reasons title={w.aside(taken.quarantined.length)} list={taken.quarantined} />
            ) : null}
            {taken.photos_refused.length > 0 ? (
              <Reasons title={w.bad(taken.photos_refused.length)} list={taken.photos_refused} />
            ) : null}
          </>
        ) : null}
      </div>
      <Complaint error={d.error} />
    </>
  );
}
