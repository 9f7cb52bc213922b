import { useEffect, useState } from "preact/hooks";
import { cautionWords } from "../../words/cautions";
import { call } from "../../calc/calc";
import { Button } from "../../parts/button";
import { Choice } from "../../parts/field";
import { Later } from "../../parts/later";
import { useKind, useRecord } from "../../store/hooks";
import { asNumber, asText, list, object, type RecordState, text, value } from "../../wire/records";
import { methodsWords as w } from "../../words/methods";
import { sentence, words } from "../../words/words";
import { RecordChanges } from "../../views/history";
import { EditMethod } from "./edit";
import { type Doc, formOf } from "./methods-data";
import { asDrafted, draftsOf, inForce, methodName } from "../../forms/keep-method";
import { useLink } from "../../nav/status";
import { Preview } from "./preview";
import { RuleChart } from "./rule-chart";

const loadKind = () => import("../../forms/kinds").then((m) => m.EditKind);
const loadApprovals = () => import("./approvals").then((m) => m.Approvals);
const loadPreview = () => import("../../views/method-preview").then((m) => m.MethodPreview);

/** MethodsScreen is the office's list of methods with the built-in sequences, or one of them. */
export function MethodsScreen({ id }: { id: string | undefined }) {
  return id === undefined ? <MethodList /> : <OneMethod key={id} id={id} />;
}

type Ready = { name: string; title: string; meant: string; notes: string[]; definition: Doc };

function useReady(): Ready[] {
  const [ready, set] = useState<Ready[]>([]);
  useEffect(() => {
    let here = true;
    call("methods", { list: true }).then(
      ({ methods }) => {
        const opened = methods.map(({ expanded_uncertainty: meant, definition, ...m }) => ({
          ...m,
          title: sentence(m.title),
          notes: m.notes.map(sentence),
          meant: sentence(meant),
          definition: definition as Doc, // it is opened like a stored one
        }));
        if (here) set(opened);
      },
      (e: unknown) => console.error(e),
    );
    return () => {
      here = false;
    };
  }, []);
  return ready;
}

function MethodList() {
  const all = useKind("method");
  const ready = useReady();
  const [beginning, begin] = useState<{ name: string; definition: Doc } | undefined>();
  const [choosing, choose] = useState(false);
  const [kind, setKind] = useState("gauge");
  if (!all) return <p class="quiet">{words.shell.loading}</p>;
  if (beginning)
    return (
      <>
        <h1>{w.title}</h1>
        {kind === "gauge" || beginning.name !== "" ? (
          <EditMethod method={undefined} start={beginning} onDone={() => begin(undefined)} />
        ) : (
          <Later load={loadKind} props={{ method: undefined, kind, onDone: () => begin(undefined) }} />
        )}
      </>
    );
  const sorted = [...all].sort((a, b) => methodName(a).localeCompare(methodName(b)));
  return (
    <>
      <h1>{w.title}</h1>
      {sorted.length === 0 ? <p>{w.none}</p> : null}
      <ul class="rows" aria-label={w.title}>
        {sorted.map((m) => (
          <li key={m.id}>
            <a href={`/office/method/${m.id}`}>
              <span class="lead">{methodName(m)}</span>
              <span class="side small quiet">
                {[versionOf(m), draftsOf(m).length > 0 ? w.waits : ""].filter(Boolean).join(", ")}
              </span>
            </a>
          </li>
        ))}
      </ul>
      {choosing ? (
        <div class="office-form method-form">
          <Choice label={w.kind} value={kind} options={Object.entries(w.kinds)} onChange={setKind} />
          <p class="quiet">{w.programme}</p>
          <Button kind="main" onClick={() => begin({ name: "", definition: {} })}>
            {w.start}
          </Button>
        </div>
      ) : (
        <div class="buttons">
          <Button onClick={() => choose(true)}>{w.new}</Button>
        </div>
      )}
      <h2>{w.ready}</h2>
      <p class="quiet">{w.readyHint}</p>
      <ul class="rows ready">
        {ready.map((m) => (
          <li key={m.name}>
            <p>
              <strong>{m.title}</strong>
              <br />
              <span class="small quiet">{w.meant(m.meant)}</span>
            </p>
            <details>
              <summary>{w.notes}</summary>
              {m.notes.map((n) => (
                <p key={n} class="small">
                  {n}
                </p>
              ))}
            </details>
            <Button label={w.take(m.title)} onClick={() => begin({ name: m.title, definition: m.definition })}>
              {w.take("").replace(/[: ]+$/, "")}
            </Button>
          </li>
        ))}
      </ul>
    </>
  );
}

const versionOf = (m: RecordState) => (inForce(m) ? w.version(asNumber(value(m, "version")) ?? 1) : w.notYet);

function OneMethod({ id }: { id: string }) {
  const record = useRecord(id);
  const user = useLink().user?.id ?? "";
  const [editing, edit] = useState(false);
  const [said, say] = useState("");
  if (record === undefined) return <p class="quiet">{words.shell.loading}</p>;
  if (record === null) return <p>{w.missing}</p>;
  const method = asDrafted(record, user); // a person goes on with their own draft
  const shown = inForce(record) ? record : method;
  const definition = object(shown, "definition");
  const kind = asText(definition["kind"]);
  const gauge = kind === "gauge";
  const formed = kind in w.kinds;
  const done = (t: string) => {
    edit(false);
    say(t);
  };
  return (
    <>
      <h1>
        {text(shown, "name")} <span class="quiet">{versionOf(record)}</span>
      </h1>
      <p role="status">{said === w.kept && method === record ? "" : said}</p>
      {editing && gauge ? (
        <EditMethod method={method} start={undefined} onDone={done} />
      ) : editing ? (
        <Later load={loadKind} props={{ method, kind, onDone: done }} />
      ) : (
        <>
          {formed ? (
            <div class="buttons">
              <Button kind="main" onClick={() => edit(true)}>
                {w.edit}
              </Button>
            </div>
          ) : kind === "programme" ? (
            <a href={`/programmes/${id}`}>{w.edit}</a>
          ) : (
            <p>{w.otherKind(kind)}</p>
          )}
          <Later load={loadApprovals} props={{ record, said: say }} />
          {gauge ? null : <Later load={loadPreview} props={{ method: shown }} />}
          {gauge ? <Shown method={shown} definition={definition} /> : null}
          <h2>{w.history}</h2>
          <RecordChanges record={record} />
        </>
      )}
    </>
  );
}

function Shown({ method, definition }: { method: RecordState; definition: Doc }) {
  const form = formOf(definition);
  const cautions = list(method, "cautions").map(asText);
  return (
    <div class="office-form">
      <Preview form={form} />
      <h2>{w.drawn}</h2>
      <p>{w.rules[form.rule]}</p>
      <RuleChart form={form} />
      {cautions.length > 0 ? (
        <>
          <h2>{w.cautions}</h2>
          <ul>
            {cautions.map((c) => (
              <li key={c}>{cautionWords.codes[c] ?? c.replaceAll("_", " ")}</li>
            ))}
          </ul>
        </>
      ) : null}
    </div>
  );
}
