import { useState } from "preact/hooks";
import { Complaint } from "../nav/keep";
import { Button } from "../parts/button";
import { Field as Box } from "../parts/field";
import { kindsWords as w } from "../words/kinds";
import type { Field, Typed } from "./form";
import { pasted } from "./pasted";

/** PasteRows takes many rows of a list at once, as copied from a spreadsheet. */
export function PasteRows({ fields, onRows }: { fields: readonly Field[]; onRows: (rows: Typed[]) => void }) {
  const [text, setText] = useState("");
  const [error, setError] = useState<string | undefined>();
  const [open, setOpen] = useState(false);
  const take = () => {
    const read = pasted(fields, text);
    setError("error" in read ? read.error : undefined);
    if ("error" in read) return;
    onRows(read.rows);
    setText("");
    setOpen(false);
  };
  return (
    <details open={open} onToggle={(e) => setOpen(e.currentTarget.open)}>
      <summary>{w.paste.title}</summary>
      <Box
        label={w.paste.rows}
        hint={w.paste.order(fields.map((f) => f.label).join(", "))}
        value={text}
        onInput={setText}
        lines={4}
      />
      <Complaint error={error} />
      <Button onClick={take}>{w.paste.take}</Button>
    </details>
  );
}
