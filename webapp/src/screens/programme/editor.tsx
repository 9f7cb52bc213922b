import { useEffect, useRef, useState } from "preact/hooks";
import { CalcError } from "../../calc/calc";
import { Button } from "../../parts/button";
import { download } from "../../parts/download";
import { Field } from "../../parts/field";
import { Later } from "../../parts/later";
import { commitMethod } from "../../forms/keep-method";
import { navigate } from "../../nav/route";
import { useLink } from "../../nav/status";
import type { Json, RecordState } from "../../wire/records";
import { programmeWords as w } from "../../words/programme";
import { visitWords } from "../../words/visit";
import { words } from "../../words/words";
import { Complaint, useKeep } from "../../nav/keep";
import { Against } from "./against";
import { packed } from "./code";
import { Drawing } from "./drawing";
import {
  type Checked,
  cautionsOf,
  check,
  type Doc,
  definitionOf,
  type Draft,
  emptyFacts,
  emptyRule,
  type Facts,
  fileOf,
  glance,
  type Rule,
} from "../../records/programme";
import { Start } from "./start";
import { StepList } from "./step-list";
import { TextBox } from "./text-box";

/**
 * From this many characters on, a text is only glanced at while somebody types; its list and
 * drawing follow when the typing pauses.
 */
const long = 20_000;
const restMs = 400;

/**
 * useChecked checks a text while it is typed. If several checks are running, only the latest
 * counts.
 */
function useChecked(text: string, facts: Facts): Checked | undefined {
  const [checked, set] = useState<Checked | undefined>();
  const newest = useRef(0);
  useEffect(() => {
    const mine = ++newest.current;
    const whole = () =>
      check(text, facts).then(
        (c) => mine === newest.current && set(c),
        (e: unknown) => console.error(e),
      );
    if (text.length < long) {
      void whole();
      return undefined;
    }
    glance(text, facts).then(
      (g) => mine === newest.current && set((old) => ({ of: "", text: "", steps: [], ...old, ...g })),
      (e: unknown) => console.error(e),
    );
    const rest = setTimeout(whole, restMs);
    return () => clearTimeout(rest);
  }, [text, facts]);
  return checked;
}

function Rules({ rules, put }: { rules: Rule[]; put: (rules: Rule[]) => void }) {
  const change = (i: number, more: Partial<Rule>) => put(rules.map((r, n) => (n === i ? { ...r, ...more } : r)));
  return (
    <details class="opened" open={rules.length > 0}>
      <summary>{w.rules}</summary>
      <p class="small quiet">{w.rulesHint}</p>
      {rules.map((r, i) => (
        <div key={i} class="rule">
          <Field label={w.ruleName(i + 1)} value={r.name} onInput={(name) => change(i, { name })} />
          <div class="columns">
            <Field label={w.ruleLow(i + 1)} value={r.low} inputMode="decimal" onInput={(low) => change(i, { low })} />
            <Field
              label={w.ruleHigh(i + 1)}
              value={r.high}
              inputMode="decimal"
              onInput={(high) => change(i, { high })}
            />
          </div>
          <Field label={w.ruleWhen(i + 1)} value={r.when} onInput={(when) => change(i, { when })} />
          <Button size="tall" onClick={() => put(rules.filter((_, n) => n !== i))}>
            {w.removeRule(i + 1)}
          </Button>
        </div>
      ))}
      <Button size="tall" onClick={() => put([...rules, emptyRule])}>
        {w.addRule}
      </Button>
    </details>
  );
}

const loadCode = () => import("./share-code").then((m) => m.ShareCode);

/** What it was last checked against, for the next programme in this session. */
let remembered = emptyFacts;

/**
 * The message shown when a new programme was saved, for the programme's own page, which opens next.
 */
let carried: { id: string; said: string } | undefined;

/** carriedTo takes the message about a record, once. */
export function carriedTo(id: string): string {
  const said = carried?.id === id ? carried.said : "";
  carried = undefined;
  return said;
}

type EditorProps = {
  method: RecordState | undefined;
  /** The published version, 0 if there is none. */
  version: number;
  begin: Draft;
  /** The programme as saved; undefined if nothing is. */
  saved: Doc | undefined;
  /** The author of the draft, "" for the published version. */
  drafted: string;
  said: string;
};

/**
 * Editor writes a programme as text and as a list, with its check, drawing and dry run. It saves
 * and starts it.
 */
export function Editor({ method, version, begin, saved, drafted, said: first }: EditorProps) {
  const [draft, setDraft] = useState(begin);
  const [facts, setFacts] = useState(remembered);
  const holdAgainst = (f: Facts) => {
    remembered = f;
    setFacts(f);
  };
  const [kept, setKept] = useState(saved);
  const [keptName, setKeptName] = useState(saved ? begin.name : "");
  const [at, setAt] = useState({ version, drafted });
  const [said, say] = useState(first);
  const [coded, code] = useState(false);
  const k = useKeep();
  const user = useLink().user;
  const checked = useChecked(draft.text, facts);
  const errors = (checked?.findings ?? []).filter((f) => f.level === "error").length;
  const warnings = (checked?.findings ?? []).length - errors;
  const cautions = cautionsOf(method);
  const [why, setWhy] = useState("");
  const definition = definitionOf(draft);
  const same = JSON.stringify(definition) === JSON.stringify(kept) && draft.name.trim() === keptName;
  const put = (more: Partial<Draft>) => {
    setDraft((old) => ({ ...old, ...more }));
    say("");
  };
  const fromList = async (steps: Doc[]): Promise<string | undefined> => {
    if (checked?.of !== draft.text) return w.checking; // the list is of an earlier text, which would come back
    try {
      const c = await check(steps, facts);
      put({ text: c.text });
      return undefined;
    } catch (e) {
      if (e instanceof CalcError) return visitWords.refused(e.field, e.message);
      throw e;
    }
  };
  const save = () =>
    k.keep(async () => {
      if (draft.name.trim() === "") return k.say(w.nameNeeded);
      const now = await check(draft.text, facts);
      if (now.findings.some((f) => f.level === "error")) return k.say(w.wrong);
      if (same) return say(w.same);
      const name = draft.name.trim();
      const set: { field: string; value: Json }[] = [
        {
          field: `draft.${user?.id ?? ""}`,
          value: { name, definition, cautions, why: why.trim(), from: at.version, at: new Date().toISOString() },
        },
      ];
      const id = await commitMethod(method, set);
      setKept(definition);
      setKeptName(name);
      setAt({ version: at.version, drafted: user?.id ?? "" });
      say(w.savedDraft);
      if (!method) {
        carried = { id, said: w.savedDraft };
        navigate(`/programmes/${id}`, true);
      }
    });
  const found = checked === undefined ? w.checking : errors + warnings === 0 ? w.clean : w.found(errors, warnings);
  return (
    <article class="programme">
      <Field label={w.name} value={draft.name} onInput={(name) => put({ name })} />
      <p role="status" class="quiet">
        {found}.
        {checked && checked.steps.length > 0
          ? ` ${w.duration(visitWords.seconds(Math.round(checked.seconds)), checked.partial)}.`
          : ""}
      </p>
      <div class="programme-two">
        <div>
          <TextBox text={draft.text} findings={checked?.findings ?? []} onInput={(text) => put({ text })} />
          <p class="small quiet">{w.textHint}</p>
          <p class="small quiet">{w.examples}</p>
        </div>
        <section aria-label={w.list}>
          <h2>{w.list}</h2>
          {checked && checked.steps.length > 0 ? (
            <StepList steps={checked.steps} findings={checked.findings} change={fromList} />
          ) : (
            <p class="quiet">{checked ? w.listNone : w.checking}</p>
          )}
        </section>
      </div>
      <Against facts={facts} put={holdAgainst} />
      <Rules rules={draft.rules} put={(rules) => put({ rules })} />
      {at.version > 0 ? <Field label={w.why} value={why} onInput={setWhy} /> : null}
      <Complaint error={k.error} />
      <p role="status">{said}</p>
      <div class="buttons">
        <Button kind="main" size="tall" disabled={k.busy || user === undefined} onClick={save}>
          {w.saveDraft}
        </Button>
        <Button
          size="tall"
          onClick={() =>
            download(
              `${draft.name.trim().replace(/[^\w-]+/g, "-") || "programme"}.json`,
              new Blob([fileOf(draft)], { type: "application/json" }),
            )
          }
        >
          {w.share}
        </Button>
        <Button size="tall" pressed={coded} onClick={() => code(!coded)}>
          {coded ? w.hideCode : w.showCode}
        </Button>
      </div>
      {coded ? <Later load={loadCode} props={{ draft, pack: packed }} /> : null}
      {method && same && errors === 0 ? (
        <Start
          method={method.id}
          version={at.drafted === "" ? at.version : 0}
          name={at.drafted === "" ? draft.name.trim() : `${draft.name.trim()} (${w.draft})`}
          definition={definition}
        />
      ) : null}
      {checked && errors === 0 ? (
        <Drawing checked={checked} />
      ) : (
        <p class="quiet">{checked ? w.dryNone : words.shell.loading}</p>
      )}
    </article>
  );
}
