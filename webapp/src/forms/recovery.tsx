import { Button } from "../parts/button";
import { accountWords as w } from "../words/account";

/** Recovery shows the codes for the day the second factors are lost, this once. */
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
