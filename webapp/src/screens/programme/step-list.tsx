import { useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Field } from "../../parts/field";
import { Pick } from "../../parts/pick";
import { asObject, asText, type Json } from "../../wire/records";
import { programmeWords as w } from "../../words/programme";
import { readDecimal, sentence } from "../../words/words";
import {
  choicesOf,
  type Doc,
  fieldsOf,
  type Finding,
  freshStep,
  moved,
  type Path,
  withCopy,
  withMore,
  without,
  withStep,
} from "../../records/programme";

type Change = (steps: Doc[]) => Promise<string | undefined>;

const kindsToAdd = ["set", "hold", "read", "settle", "vent", "ask", "note", "exercise", "ramp", "if", "repeat", "stop"];
const inner = (v: Json | undefined): Doc[] => (Array.isArray(v) ? v.map(asObject) : []);

/** worded writes a step in the words of its text form. */
function worded(s: Doc): string {
  const t = (n: string) => asText(s[n]);
  switch (t("do")) {
    case "set":
      return `set ${t("target")}${t("rate") === "" ? "" : ` at ${t("rate")}/s`}`;
    case "ramp":
      return `ramp ${t("target")} at ${t("rate")}/s until ${t("until")}`;
    case "hold":
      return `hold ${t("seconds")} s`;
    case "settle":
      return `settle within ${t("within")} for ${t("seconds")} s, at most ${t("at_most")} s`;
    case "read":
      return `read ${t("name")} from ${t("from")}${t("count") === "" ? "" : ` ${t("count")} times`}`;
    case "ask":
      return `ask “${t("text")}” as ${t("as")}${t("name") === "" ? "" : ` into ${t("name")}`}`;
    case "exercise":
      return `exercise ${t("count")} to ${t("target")}`;
    case "repeat":
      return t("when") === ""
        ? `repeat ${t("count")}`
        : `repeat until ${t("when")}${t("count") === "" ? "" : `, at most ${t("count")}`}`;
    case "if":
      return `if ${t("when")}`;
    case "unit":
      return `unit ${t("unit")} ${t("mode")}`;
    case "vent":
      return "vent";
    default:
      return `${t("do")} “${t("text")}”`;
  }
}

/** StepForm changes the values of one step. They are applied together. */
function StepForm({
  step,
  onApply,
  onClose,
}: {
  step: Doc;
  onApply: (s: Doc) => Promise<string | undefined>;
  onClose: () => void;
}) {
  const names = fieldsOf[asText(step["do"])] ?? [];
  const [typed, setTyped] = useState(() => Object.fromEntries(names.map((n) => [n, asText(step[n])])));
  const [error, say] = useState<string | undefined>();
  const apply = () => {
    const made: Doc = { ...step };
    for (const n of names) {
      const v = (typed[n] ?? "").trim();
      if (v === "") delete made[n];
      else if (n === "count") made[n] = Number(v);
      else made[n] = ["target", "rate", "seconds", "within", "at_most"].includes(n) ? (readDecimal(v) ?? v) : v;
    }
    onApply(made).then((e) => (e === undefined ? onClose() : say(e)), console.error);
  };
  return (
    <div class="step-form">
      {names.map((n) =>
        choicesOf[n] ? (
          <Pick
            key={n}
            label={w.fields[n] ?? n}
            value={typed[n] ?? ""}
            onChange={(v) => setTyped({ ...typed, [n]: v })}
            options={choicesOf[n].map((c) => [c, c] as const)}
          />
        ) : (
          <Field
            key={n}
            label={w.fields[n] ?? n}
            value={typed[n] ?? ""}
            inputMode={["text", "name", "when", "unit"].includes(n) ? "text" : "decimal"}
            onInput={(v) => setTyped({ ...typed, [n]: v })}
          />
        ),
      )}
      {error === undefined ? null : (
        <p class="complaint" role="alert">
          {error}
        </p>
      )}
      <div class="buttons">
        <Button kind="main" size="tall" onClick={apply}>
          {w.apply}
        </Button>
        <Button size="tall" onClick={onClose}>
          {w.close}
        </Button>
      </div>
    </div>
  );
}

type ListProps = {
  all: Doc[];
  list: Doc[];
  path: Path;
  findings: Finding[];
  change: Change;
  open: string;
  setOpen: (key: string) => void;
};

function AddStep({ all, path, change, name }: { all: Doc[]; path: Path; change: Change; name: string }) {
  const [kind, pick] = useState("set");
  const [error, say] = useState<string | undefined>();
  return (
    <div class="add-step">
      <Pick label={name} value={kind} onChange={pick} options={kindsToAdd.map((k) => [k, w.steps[k] ?? k] as const)} />
      <Button
        size="tall"
        onClick={() => void change(withMore(all, path, freshStep(kind, JSON.stringify(all)))).then(say)}
      >
        {w.add}
      </Button>
      {error === undefined ? null : (
        <p class="complaint" role="alert">
          {error}
        </p>
      )}
    </div>
  );
}

/** The number of steps of a list on the screen at once; the rest is shown on request. */
const piece = 100;

function Steps(p: ListProps) {
  const [from, show] = useState(0);
  const first = from < p.list.length ? from : 0;
  const end = Math.min(p.list.length, first + piece);
  const other = (to: number, name: string) => (
    <Button size="tall" onClick={() => show(to)}>
      {name}
    </Button>
  );
  return (
    <>
      {first > 0 ? other(Math.max(0, first - piece), w.stepsFrom(Math.max(1, first - piece + 1), first)) : null}
      <Shown {...p} first={first} end={end} />
      {end < p.list.length ? other(end, w.stepsFrom(end + 1, Math.min(p.list.length, end + piece))) : null}
    </>
  );
}

function Shown({
  all,
  list,
  path,
  findings,
  change,
  open,
  setOpen,
  first,
  end,
}: ListProps & { first: number; end: number }) {
  const outer = path.slice(0, -1);
  return (
    <ol class="against" start={first + 1}>
      {list.slice(first, end).map((s, n) => {
        const i = first + n;
        const here = [...outer, i];
        const key = here.join(".");
        const bad = findings.filter((f) => f.line === Number(s["line"]));
        const shown = open === key;
        const name = worded(s);
        return (
          <li key={key} class={bad.length > 0 ? "noted" : ""}>
            <button type="button" class="step-row" aria-expanded={shown} onClick={() => setOpen(shown ? "" : key)}>
              {name}
            </button>
            {bad.map((f, n) => (
              <p key={n} class="small finding">
                <strong>{w.level[f.level] ?? f.level}</strong>: {sentence(f.message)}
              </p>
            ))}
            {shown ? (
              <>
                <div class="buttons">
                  <Button
                    size="tall"
                    label={`${w.up}: ${name}`}
                    onClick={() => void change(moved(all, here, -1)).then(() => setOpen([...outer, i - 1].join(".")))}
                    disabled={i === 0}
                  >
                    {w.up}
                  </Button>
                  <Button
                    size="tall"
                    label={`${w.down}: ${name}`}
                    onClick={() => void change(moved(all, here, 1)).then(() => setOpen([...outer, i + 1].join(".")))}
                    disabled={i === list.length - 1}
                  >
                    {w.down}
                  </Button>
                  <Button
                    size="tall"
                    label={`${w.duplicate}: ${name}`}
                    onClick={() => void change(withCopy(all, here))}
                    disabled={s["do"] === "unit"}
                  >
                    {w.duplicate}
                  </Button>
                  <Button
                    size="tall"
                    label={`${w.remove}: ${name}`}
                    onClick={() => void change(without(all, here)).then(() => setOpen(""))}
                  >
                    {w.remove}
                  </Button>
                </div>
                <StepForm
                  key={name}
                  step={s}
                  onApply={(made) => change(withStep(all, here, made))}
                  onClose={() => setOpen("")}
                />
                <AddStep all={all} path={here} change={change} name={w.add} />
              </>
            ) : null}
            {Array.isArray(s["steps"]) ? (
              <Inner
                all={all}
                list={inner(s["steps"])}
                path={[...here, 0, -1]}
                findings={findings}
                change={change}
                open={open}
                setOpen={setOpen}
                name={w.inside}
              />
            ) : null}
            {Array.isArray(s["else"]) ? (
              <Inner
                all={all}
                list={inner(s["else"])}
                path={[...here, 1, -1]}
                findings={findings}
                change={change}
                open={open}
                setOpen={setOpen}
                name={w.otherwise}
              />
            ) : null}
          </li>
        );
      })}
    </ol>
  );
}

function Inner(p: ListProps & { name: string }) {
  return (
    <section class="dry-run" aria-label={p.name}>
      <p class="small quiet">{p.name}</p>
      <Steps {...p} />
      {p.list.length === 0 ? <AddStep all={p.all} path={p.path} change={p.change} name={p.name} /> : null}
    </section>
  );
}

/**
 * StepList is a programme as a list to change by touch: each step opens its values and its actions.
 */
export function StepList({ steps, findings, change }: { steps: Doc[]; findings: Finding[]; change: Change }) {
  const [open, setOpen] = useState("");
  return (
    <div class="programme-list">
      <Steps all={steps} list={steps} path={[-1]} findings={findings} change={change} open={open} setOpen={setOpen} />
      <AddStep all={steps} path={[steps.length - 1]} change={change} name={w.add} />
    </div>
  );
}
