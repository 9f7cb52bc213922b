import { Button } from "../../parts/button";
import { machinesWords as w } from "../../words/machines";

/** Secret shows a secret, this once, until the person confirms that it is stored. */
export function Secret({ title, of, onDone }: { title: string; of: string | undefined; onDone: () => void }) {
  return (
    <div role="status">
      {of === undefined ? null : (
        <div class="office-form">
          <h2>{title}</h2>
          <p>
            <code class="print">{of}</code>
          </p>
          <p>{w.once}</p>
          <Button onClick={onDone}>{w.done}</Button>
        </div>
      )}
    </div>
  );
}
