import type { ComponentChildren } from "preact";
import { useState } from "preact/hooks";
import { CalcError, call } from "../../calc/calc";
import { FormFields } from "../../forms/fields";
import { type Doc, documentOf, placed } from "../../forms/form";
import { useForm } from "../../forms/use-form";
import { Complaint } from "../../nav/keep";
import { navigate } from "../../nav/route";
import { Button } from "../../parts/button";
import { lineOf, modelOf, quantitiesOf } from "../../records/calculate";
import type {
  LineInput,
  LineOutput,
  ModelInput,
  ModelOutput,
  ObservationsInput,
  ObservationsOutput,
} from "../../wire/calculations.gen";
import { calculateForms, type CalculatePart, calculateWords as w } from "../../words/calculate";
import { LineResult, ModelResult, ObservationsResult } from "./results";
import { sentence } from "../../words/words";

/** What one part hands to the formula, kept until the formula's page takes it. */
let handed: Doc | undefined;

function hand(doc: Doc): void {
  handed = doc;
  navigate("/office/calculate/model");
}

type Result =
  | { of: "observations"; out: ObservationsOutput }
  | { of: "line"; out: LineOutput }
  | { of: "model"; out: ModelOutput };

/** ask sends the document of a part to its calculation. */
async function ask(part: CalculatePart, doc: Doc): Promise<Result> {
  switch (part) {
    case "observations":
      return { of: part, out: await call(part, doc as ObservationsInput) };
    case "line":
      return { of: part, out: await call(part, doc as LineInput) };
    case "model":
      return { of: part, out: await call(part, modelOf(doc) as ModelInput) };
    default: {
      const never: never = part;
      return never;
    }
  }
}

/** first is the initial form of a part: a row to type into, or what another part handed over. */
function first(part: CalculatePart): Doc {
  if (part === "observations") return { series: [{}] };
  if (part === "line") return { points: [{}, {}, {}] };
  const doc = handed ?? { quantities: [{}] };
  handed = undefined;
  return doc;
}

function Part({ part }: { part: CalculatePart }) {
  const fields = calculateForms[part];
  const [begun] = useState(() => first(part));
  const f = useForm(fields, begun);
  const [result, setResult] = useState<Result | undefined>();
  const go = () => {
    f.clear();
    setResult(undefined);
    const read = documentOf(fields, f.typed);
    if ("error" in read) return f.refuse(read);
    f.k.keep(async () => {
      try {
        setResult(await ask(part, read.doc));
      } catch (e) {
        if (!(e instanceof CalcError)) throw e;
        const at = placed(fields, e.field);
        f.refuse({ path: at.path, error: at.label === "" ? e.message : `${at.label}: ${e.message}` });
      }
    });
  };
  return (
    <section aria-labelledby="calculate-part">
      <h2 id="calculate-part">{w.parts[part]}</h2>
      <p class="quiet">{w.hints[part]}</p>
      <div class="office-form">
        <FormFields fields={fields} typed={f.typed} onChange={f.change} wrong={f.wrong} />
        <Complaint error={f.k.error} />
        <Button kind="main" disabled={f.k.busy} onClick={go}>
          {w.go}
        </Button>
      </div>
      {result ? <Shown result={result} /> : null}
    </section>
  );
}

function Shown({ result }: { result: Result }) {
  let shown: ComponentChildren;
  switch (result.of) {
    case "observations":
      shown = <ObservationsResult out={result.out} onUse={() => hand(quantitiesOf(result.out))} />;
      break;
    case "line":
      shown = <LineResult out={result.out} onUse={() => hand(lineOf(result.out))} />;
      break;
    case "model":
      shown = <ModelResult out={result.out} />;
      break;
  }
  const warnings = "warnings" in result.out ? result.out.warnings : [];
  return (
    <section aria-label={w.result}>
      <h2>{w.result}</h2>
      {shown}
      {warnings.length > 0 ? (
        <>
          <h3>{w.warnings}</h3>
          <ul>
            {warnings.map((x) => (
              <li key={x.field + x.code}>{sentence(x.message)}</li>
            ))}
          </ul>
        </>
      ) : null}
    </section>
  );
}

/**
 * CalculateScreen does the calculations that a laboratory needs besides its visits, in the terms of
 * a budget.
 */
export function CalculateScreen({ part }: { part: CalculatePart }) {
  const parts = Object.keys(calculateForms) as CalculatePart[];
  return (
    <>
      <h1>{w.title}</h1>
      <nav class="office-nav" aria-label={w.menu}>
        {parts.map((p) => (
          <a key={p} href={`/office/calculate/${p}`} aria-current={p === part ? "page" : undefined}>
            {w.parts[p]}
          </a>
        ))}
      </nav>
      <Part key={part} part={part} />
    </>
  );
}
