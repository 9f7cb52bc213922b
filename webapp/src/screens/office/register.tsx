import type { ComponentChildren, ComponentType } from "preact";
import { useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Field } from "../../parts/field";
import { Later } from "../../parts/later";
import { navigate } from "../../nav/route";
import { matcher } from "../../store/search";
import { isOverdue } from "../../wire/records";
import { officeWords } from "../../words/office";
import { showDate, words } from "../../words/words";
import { showRange } from "../../records/facts";
import type { Made } from "../../forms/item";
import { localDay } from "../../records/stops";
import { Complaint, save, useDoing } from "../../nav/asking";
import { useRegister } from "../../nav/use-register";

const w = officeWords.register;
const loadGiving = () => import("../../forms/give").then((m) => m.GiveMethod);
/** LoadPlan fetches the page that plans a round of chosen instruments. */
export type LoadPlan = () => Promise<ComponentType<{ ids: string[]; onDone: (id: string) => void }>>;
const loadItem = () => import("../../forms/kinds").then((m) => m.EditItem);
/** Most labels that the server draws at a time. */
const most = 1000;
/**
 * What was added here and is not in the office's list yet: it stands before that, also for whoever
 * comes back from its page.
 */
let made: Made[] = [];

/**
 * RegisterScreen looks through all instruments of the plant and makes sheets of labels for the
 * chosen ones.
 */
export function RegisterScreen({ loadPlan }: { loadPlan: LoadPlan }) {
  const [search, setSearch] = useState("");
  const { list: found, after, error, more } = useRegister(`q=${encodeURIComponent(search)}`);
  const [chosen, setChosen] = useState<ReadonlySet<string>>(new Set());
  const [drawn, setDrawn] = useState(false);
  const [giving, give] = useState<string[] | undefined>();
  const [planning, plan] = useState(false);
  const [said, say] = useState<ComponentChildren>("");
  const [adding, add] = useState(false);
  made = made.filter((g) => !found?.some((x) => x.id === g.id));
  const list = found && [...made.filter((g) => matcher(search)(g) > 0), ...found];
  const d = useDoing();
  const choose = (id: string) => {
    const next = new Set(chosen);
    if (!next.delete(id)) next.add(id);
    setChosen(next);
    setDrawn(false);
    say("");
  };
  const sheet = () => {
    if (chosen.size > most) return d.say(w.tooMany(most));
    d.run(async () => {
      await save("/api/labels", "labels.pdf", { method: "POST", body: JSON.stringify({ instruments: [...chosen] }) });
      setDrawn(true);
    });
  };
  const given = (what: string) => {
    give(undefined);
    say(what);
  };
  const today = localDay(new Date());
  const added = (what: ComponentChildren, it?: Made) => {
    add(false);
    say(what);
    if (it) made = [it, ...made];
  };
  if (adding)
    return (
      <>
        <h1>{w.title}</h1>
        <Later load={loadItem} props={{ instrument: undefined, onDone: added }} />
      </>
    );
  if (planning)
    return (
      <>
        <h1>{w.title}</h1>
        <Later
          load={loadPlan}
          props={{
            ids: [...chosen],
            onDone: (id: string) => (id === "" ? plan(false) : navigate(`/office/rounds/${id}`)),
          }}
        />
      </>
    );
  if (giving)
    return (
      <>
        <h1>{w.title}</h1>
        <Later load={loadGiving} props={{ ids: giving, onDone: given }} />
      </>
    );
  return (
    <>
      <h1>{w.title}</h1>
      <Field label={w.search} type="search" value={search} onInput={setSearch} inputMode="search" />
      <div class="register-bar">
        <Button kind="main" disabled={chosen.size === 0 || d.busy} onClick={sheet}>
          {w.sheet}
        </Button>
        <Button disabled={chosen.size === 0 || d.busy} onClick={() => give([...chosen])}>
          {w.method}
        </Button>
        <Button disabled={chosen.size === 0 || d.busy} onClick={() => plan(true)}>
          {w.round}
        </Button>
        <Button onClick={() => add(true)}>{w.add}</Button>
        <span role="status">{said !== "" ? said : drawn ? w.made : w.chosen(chosen.size)}</span>
        <Button kind="quiet" onClick={() => setChosen(new Set([...chosen, ...(list ?? []).map((g) => g.id)]))}>
          {w.all}
        </Button>
        <Button kind="quiet" disabled={chosen.size === 0} onClick={() => setChosen(new Set())}>
          {w.clear}
        </Button>
      </div>
      <Complaint error={d.error ?? error} />
      {list === undefined && error === undefined ? <p class="quiet">{words.shell.loading}</p> : null}
      {list?.length === 0 ? <p>{w.none}</p> : null}
      <ul class="rows register" aria-label={w.title}>
        {(list ?? []).map((g) => (
          <li key={g.id}>
            <label>
              <input
                type="checkbox"
                aria-label={w.choose(g.tag)}
                checked={chosen.has(g.id)}
                onChange={() => choose(g.id)}
              />
            </label>
            <span>
              <a href={`/instrument/${g.id}`}>{g.tag || officeWords.day.unnamed}</a> {g.description}
              <br />
              <span class="small quiet">{[g.serial, g.area, g.place].filter(Boolean).join(" · ")}</span>
            </span>
            <span class="small number">{showRange(g.range)}</span>
            <span class="small">
              {g.status === "" || g.status === "in service" ? null : <strong>{`${g.status} `}</strong>}
              {g.due === "" ? "" : `${w.due} ${showDate(g.due)}`}
              {isOverdue(g.due, today) ? <strong>{` ${w.overdue}`}</strong> : null}
              {g.contested && g.contested.length > 0 ? (
                <>
                  <br />
                  <strong>{`${officeWords.attention["contested"]}: ${g.contested.join(", ")}`}</strong>
                </>
              ) : null}
              {g.damaged ? <strong>{` ${officeWords.attention["damaged"]}`}</strong> : null}
            </span>
            <a class="small" href={`/office/history/${g.id}`}>
              {w.changes}
            </a>
          </li>
        ))}
      </ul>
      {after === "" ? null : (
        <Button disabled={d.busy} onClick={() => d.run(more)}>
          {w.more}
        </Button>
      )}
    </>
  );
}
