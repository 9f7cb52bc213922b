import { useEffect, useState } from "preact/hooks";
import { call } from "../../calc/calc";
import { link } from "../../link/link";
import { Complaint, useDoing } from "../../nav/asking";
import { LinkError } from "../../link/link";
import type { ChangesOutput } from "../../wire/calculations.gen";
import type { Json } from "../../wire/records";
import { standardsWords as w } from "../../words/standards";
import { showDecimal } from "../../words/words";
import { type PointForm, pointForms, readPoints } from "./standards-data";

/** What was read from a certificate's file, for a look before it is saved. */
export type Came = {
  file: string;
  number: string;
  by: string;
  calibrated: string;
  due: string;
  serial: string;
  tables: { name: string; points: PointForm[] }[];
};

/** FromFile has the office read a certificate that came as a file: DCC XML or CSV. */
export function FromFile({ unit, onRead }: { unit: string; onRead: (c: Came) => void }) {
  const d = useDoing();
  const take = (file: File | undefined) => {
    if (!file) return;
    d.run(async () => {
      const path = `/api/office/certificates/read?unit=${encodeURIComponent(unit)}&name=${encodeURIComponent(file.name)}`;
      const response = await link.request(path, { method: "POST", body: await file.arrayBuffer() });
      const said = (await response.json()) as Came & { error?: { code: string; message: string } };
      if (!response.ok)
        throw new LinkError("server", response.status, said.error?.code ?? "", said.error?.message ?? "");
      onRead(said);
    });
  };
  return (
    <>
      <label class="button plain file">
        {w.fromFile}
        <input
          type="file"
          accept=".xml,.csv,.txt,application/xml,text/csv"
          disabled={d.busy}
          onChange={(e) => take(e.currentTarget.files?.[0])}
        />
      </label>
      <p class="small quiet">{w.fromFileHint}</p>
      <Complaint error={d.error} />
    </>
  );
}

/** Changes shows the differences between the typed points and those in force: drift and En. */
export function Changes({ before, forms, unit }: { before: Json[]; forms: PointForm[]; unit: string }) {
  const [said, say] = useState<ChangesOutput | undefined>();
  const read = readPoints(forms);
  const asked = "error" in read || before.length === 0 ? "" : JSON.stringify(read.points);
  useEffect(() => {
    let here = true;
    say(undefined);
    if (asked !== "")
      call("changes", { before: { points: pointForms(before) }, after: { points: JSON.parse(asked) } })
        .then((c) => here && say(c))
        .catch(console.error);
    return () => {
      here = false;
    };
  }, [asked, before.length]);
  if (!said || said.points.length === 0) return null;
  return (
    <section aria-label={w.since}>
      <h3>{w.since}</h3>
      <p class="small quiet">{w.changesHint}</p>
      <table>
        <thead>
          <tr>
            {[`${w.applied}, ${unit}`, w.before, w.error, w.drift, "En"].map((h) => (
              <th key={h} scope="col" class="number">
                {h}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {said.points.map((p) => (
            <tr key={p.applied}>
              {[p.applied, p.before, p.after, p.drift].map((x, i) => (
                <td key={i} class="number">
                  {showDecimal(Number(x.toPrecision(4)))}
                </td>
              ))}
              <td class="number">
                {p.agrees ? (
                  showDecimal(Number(p.en.toFixed(2)))
                ) : (
                  <strong>{showDecimal(Number(p.en.toFixed(2)))}</strong>
                )}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
      {said.agree ? null : <p class="caution">{w.disagree}</p>}
    </section>
  );
}
