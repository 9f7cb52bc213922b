import { useEffect, useState } from "preact/hooks";
import { CalcError, call } from "../../calc/calc";
import { Button } from "../../parts/button";
import { Later } from "../../parts/later";
import { navigate } from "../../nav/route";
import { useLink } from "../../nav/status";
import { useKind, useRecord } from "../../store/hooks";
import { type RecordState, text } from "../../wire/records";
import { programmeWords as w } from "../../words/programme";
import { showDateTime, words } from "../../words/words";
import { unpacked } from "./code";
import { carriedTo, Editor } from "./editor";
import {
  type Doc,
  type Draft,
  type Kept,
  keptOf,
  mostBytes,
  readFile,
  rulesOf,
  simplest,
  textOf,
} from "../../records/programme";

const loadScanner = () => import("../../views/scanner").then((m) => m.Scanner);

/** ProgrammesScreen is the list of programmes on this device, or one of them. */
export function ProgrammesScreen({ id }: { id: string | undefined }) {
  return id === undefined ? <List /> : id === "take" ? <Take /> : <One key={id} id={id} />;
}

/** What came in by a code, for the list, which opens it. */
let arrived: { draft: Draft; said: string } | undefined;

/** Take reads the programme in the address. */
function Take() {
  const [error, say] = useState<string | undefined>();
  useEffect(() => {
    const take = async () => {
      const body = await unpacked(location.hash.slice(1)).catch(() => undefined);
      const got = body === undefined ? w.codeBroken : await judged(body);
      if (typeof got === "string") return say(got);
      arrived = { draft: got, said: w.codeTaken };
      navigate("/programmes", true);
    };
    take().catch((e: unknown) => {
      console.error(e);
      say(words.shell.broken);
    });
  }, []);
  if (error === undefined) return <p class="quiet">{words.shell.loading}</p>;
  return (
    <>
      <h1>{w.title}</h1>
      <p class="complaint" role="alert">
        {error}
      </p>
      <p>
        <a href="/programmes">{w.all}</a>
      </p>
    </>
  );
}

function useNames(): (user: string) => string {
  const people = useKind("person");
  return (user) => {
    const one = people?.find((p) => p.id === user);
    return one ? text(one, "name") : user;
  };
}

/**
 * judged has the calculation check everything in a file or a code. A refusal is shown, and nothing
 * is opened.
 */
async function judged(body: string): Promise<Draft | string> {
  const read = readFile(body);
  if (!read) return w.notOurs;
  const example = { low: "-1000000", high: "1000000", unit: "bar" };
  try {
    await call("evaluate", { method: read.definition, instrument: example, captures: [], complete: false });
    return { name: read.name, text: await textOf(read.definition), rules: rulesOf(read.definition) };
  } catch (e) {
    if (e instanceof CalcError) return w.refused(`${e.field}: ${e.message}`);
    throw e;
  }
}

function List() {
  const all = useKind("method");
  const nameOf = useNames();
  const [begun, begin] = useState(() => {
    const came = arrived;
    arrived = undefined;
    return came;
  });
  const [error, say] = useState<string | undefined>();
  const [scanning, scan] = useState(false);
  if (!all) return <p class="quiet">{words.shell.loading}</p>;
  if (begun)
    return (
      <>
        <h1>{w.new}</h1>
        <Editor method={undefined} version={0} begin={begun.draft} saved={undefined} drafted="" said={begun.said} />
      </>
    );
  const list = all.flatMap((m) => keptOf(m) ?? []).sort((a, b) => a.name.localeCompare(b.name));
  return (
    <>
      <h1>{w.title}</h1>
      <p class="quiet">{w.lead}</p>
      {error === undefined ? null : (
        <p class="complaint" role="alert">
          {error}
        </p>
      )}
      <div class="buttons">
        <Button
          kind="main"
          size="tall"
          onClick={() => begin({ draft: { name: "", text: simplest, rules: [] }, said: "" })}
        >
          {w.new}
        </Button>
        <label class="button plain tall file">
          {w.import}
          <input
            type="file"
            accept=".json,application/json"
            onChange={(e) => {
              const file = e.currentTarget.files?.[0];
              e.currentTarget.value = "";
              if (!file) return;
              const taken = file.size > mostBytes ? Promise.resolve(w.tooLarge) : file.text().then(judged);
              taken.then(
                (d) => (typeof d === "string" ? say(d) : begin({ draft: d, said: w.imported })),
                (f: unknown) => {
                  console.error(f);
                  say(words.shell.broken);
                },
              );
            }}
          />
        </label>
        {scanning ? null : (
          <Button size="tall" onClick={() => scan(true)}>
            {w.scan}
          </Button>
        )}
      </div>
      {scanning ? <Later load={loadScanner} props={{ onEnd: () => scan(false) }} /> : null}
      {list.length === 0 ? <p>{w.none}</p> : null}
      <ul class="rows" aria-label={w.title}>
        {list.map((p) => (
          <li key={p.id}>
            <a href={`/programmes/${p.id}`}>
              <span>
                <span class="lead">{p.name}</span>
                <br />
                <span class="small quiet">
                  {p.version > 0
                    ? w.by(nameOf(p.by), showDateTime(p.at))
                    : p.drafts.map((d) => w.draftOf(nameOf(d.user), showDateTime(d.at))).join(", ")}
                </span>
              </span>
              <span class="side small">{p.version > 0 ? w.version(p.version) : w.draft}</span>
            </a>
          </li>
        ))}
      </ul>
    </>
  );
}

function One({ id }: { id: string }) {
  const record = useRecord(id);
  const user = useLink().user;
  const [whose, show] = useState<string | undefined>();
  if (record === undefined) return <p class="quiet">{words.shell.loading}</p>;
  const kept = record ? keptOf(record) : undefined;
  if (!record || !kept) return <p>{w.missing}</p>;
  // the person's own draft, else the published version, else the first draft
  const own = kept.drafts.some((d) => d.user === user?.id)
    ? (user?.id ?? "")
    : kept.version > 0
      ? ""
      : (kept.drafts[0]?.user ?? "");
  return <Opened key={whose ?? own} record={record} kept={kept} drafted={whose ?? own} show={show} />;
}

function Opened({
  record,
  kept,
  drafted,
  show,
}: {
  record: RecordState;
  kept: Kept;
  drafted: string;
  show: (user: string) => void;
}) {
  const nameOf = useNames();
  const user = useLink().user;
  const [begin, set] = useState<{ draft: Draft; definition: Doc } | undefined>();
  const [said] = useState(() => carriedTo(record.id));
  useEffect(() => {
    const d = kept.drafts.find((x) => x.user === drafted);
    const definition = d ? d.definition : kept.definition;
    textOf(definition).then(
      (t) => set({ draft: { name: d ? d.name : kept.name, text: t, rules: rulesOf(definition) }, definition }),
      (e: unknown) => {
        console.error(e);
        set({ draft: { name: kept.name, text: "", rules: [] }, definition });
      },
    );
  }, []);
  if (!begin) return <p class="quiet">{words.shell.loading}</p>;
  return (
    <>
      <h1>
        {begin.draft.name} <span class="quiet">{drafted === "" ? w.version(kept.version) : w.draft}</span>
      </h1>
      <p class="quiet">
        {drafted === ""
          ? w.by(nameOf(kept.by), showDateTime(kept.at))
          : w.draftOf(nameOf(drafted), showDateTime(kept.drafts.find((d) => d.user === drafted)?.at ?? ""))}
      </p>
      {kept.drafts
        .filter((d) => d.user !== drafted)
        .map((d) => (
          <p key={d.user}>
            {w.draftOf(nameOf(d.user), showDateTime(d.at))}{" "}
            <Button kind="quiet" onClick={() => show(d.user)}>
              {w.openDraft}
            </Button>
          </p>
        ))}
      {drafted !== "" && kept.version > 0 ? (
        <Button kind="quiet" onClick={() => show("")}>
          {w.version(kept.version)}
        </Button>
      ) : null}
      <Editor
        method={record}
        version={kept.version}
        begin={begin.draft}
        saved={begin.definition}
        drafted={drafted}
        said={said}
      />
      {user && user.role !== "technician" ? (
        <p>
          <a href={`/office/method/${record.id}`}>{w.allHistory}</a>
        </p>
      ) : null}
    </>
  );
}
