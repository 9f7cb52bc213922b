import { type KeyRow, KeyList } from "../../forms/key-list";
import { useAsk, Waiting } from "../../nav/asking";
import { signingWords as w } from "../../words/signing";

/** SigningScreen shows an administrator who signs with which key, and the laboratory's own keys. */
export function SigningScreen() {
  const asked = useAsk<{ keys: KeyRow[]; heads: string }>("/api/office/keys");
  const r = asked.reply;
  return (
    <>
      <h1>{w.title}</h1>
      <p class="quiet">{w.hint}</p>
      <Waiting asked={asked} />
      {r === undefined ? null : (
        <>
          <h2>{w.people}</h2>
          <KeyList rows={r.keys.filter((k) => k.of === "person")} named confirms onKept={asked.again} />
          <h2>{w.laboratory}</h2>
          <p class="quiet">{w.laboratoryHint}</p>
          <KeyList rows={r.keys.filter((k) => k.of === "office")} named={false} onKept={asked.again} />
          <p class="small quiet">
            {w.heads}: <code class="print">{r.heads}</code>
          </p>
        </>
      )}
    </>
  );
}
