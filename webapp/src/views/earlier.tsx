import { readField } from "../wire/read";
import { Complaint, save, useDoing } from "../nav/asking";
import { Button } from "../parts/button";
import { isVerdict, Mark } from "../parts/mark";
import { type RecordState, text } from "../wire/records";
import { earlierWords as w } from "../words/earlier";
import { showDate, words } from "../words/words";

/** Earlier lists the imported past results of an instrument, the latest first. */
export function Earlier({ results }: { results: RecordState[] }) {
  const d = useDoing();
  const sorted = [...results].sort((a, b) => (text(a, "started") < text(b, "started") ? 1 : -1));
  const open = (file: string, number: string) =>
    d.run(() => save(`/api/blobs/${file}`, `certificate-${number || file.slice(0, 8)}.pdf`));
  return (
    <section aria-label={w.title}>
      <h2>{w.title}</h2>
      <p class="small quiet">{w.hint}</p>
      <ul class="rows aside">
        {sorted.map((r) => {
          const { as_found, as_left } = readField("result", r, "summary");
          const [found, left] = [as_found?.verdict, as_left?.verdict];
          const { number, by, file } = readField("result", r, "certificate");
          const { name, line } = readField("result", r, "brought");
          return (
            <li key={r.id}>
              <span>
                <span class="lead">{showDate(text(r, "started"))}</span>
                <br />
                <span class="small quiet">
                  {number || by ? (
                    <>
                      {w.certificate(number, by)}
                      <br />
                    </>
                  ) : null}
                  {w.from(name, line)}
                  {text(r, "note") === "" ? "" : ` · ${text(r, "note")}`}
                </span>
              </span>
              <span class="side">
                {isVerdict(found) ? <Mark verdict={found} /> : null}
                {isVerdict(left) ? (
                  <span class="small quiet">
                    {" "}
                    {words.instrument.asLeft} <Mark verdict={left} />
                  </span>
                ) : null}
                {file === "" ? null : (
                  <Button kind="quiet" disabled={d.busy} onClick={() => open(file, number)}>
                    {w.open}
                  </Button>
                )}
              </span>
            </li>
          );
        })}
      </ul>
      <Complaint error={d.error} />
    </section>
  );
}
