import { Button } from "../parts/button";
import { accountWords as w } from "../words/account";

/** Recovery shows, this once, the codes to use when the second factors are lost. */
export function Recovery({ codes, onRead }: { codes: string[]; onRead: () => void }) {
  return (
    <>
      <p>{w.recovery}</p>
      <ol>
        {codes.map((r) => (
          <li key={r}>
            <code>{r}</code>
          </li>
        ))}
      </ol>
      <Button kind="main" onClick={onRead}>
        {w.read}
      </Button>
    </>
  );
}
