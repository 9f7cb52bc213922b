import type { ComponentChildren, ComponentType } from "preact";
import { useEffect, useRef, useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Check } from "../../parts/check";
import { Later } from "../../parts/later";
import { Complaint, save, send, useDoing } from "../../nav/asking";
import { keepRegister, keptRegister } from "../../nav/choices";
import { navigate } from "../../nav/route";
import { useTable } from "../../nav/use-table";
import { askFor, type Look, narrowed, readLook, writeLook } from "../../records/look";
import type { Gauge, TableReply } from "../../records/office";
import { localDay } from "../../records/stops";
import { matcher } from "../../store/search";
import type { Made } from "../../forms/item";
import { registerWords as w } from "../../words/register";
import { words } from "../../words/words";
import { bulkWords } from "../../words/bulk";
import { BulkChange, Done, Earlier } from "./bulk";
import { Columns, Filters } from "./filters";
import { RegisterTable } from "./table";
import { Views } from "./views";

const loadIn = () => import("../../forms/bring-in").then((m) => m.BringIn);
const loadOut = () => import("../../forms/take-out").then((m) => m.TakeOut);
/** LoadPlan fetches the page that plans a round of chosen instruments. */
export type LoadPlan = () => Promise<ComponentType<{ ids: string[]; onDone: (id: string) => void }>>;
const loadItem = () => import("../../forms/kinds").then((m) => m.EditItem);
/** How many rows a page has, and how many a printed table may have. */
const page = 100;
const mostPrinted = 2000;
/** The most labels that the server draws at a time. */
const mostLabels = 1000;
/**
 * Instruments that were added here and are not in the office's list yet. They are shown first, also
 * after a visit to their page.
 */
let made: Made[] = [];

const first = (): Look => readLook(location.search === "" ? keptRegister() : location.search);

type Doing = "" | "out" | "in" | "add" | "plan" | "change";

/**
 * RegisterScreen is the register as a table to work in: searched, filtered, sorted, with rows to
 * choose for actions on several at once. The page's address holds the view.
 */
export function RegisterScreen({ loadPlan }: { loadPlan: LoadPlan }) {
  const [look, setLook] = useState(first);
  const [from, setFrom] = useState(0);
  const [chosen, setChosen] = useState<ReadonlyMap<string, string>>(new Map());
  const [doing, begin] = useState<Doing>("");
  const [said, say] = useState<ComponentChildren>("");
  const [dated, setDated] = useState(false);
  const [printing, print] = useState(false);
  const search = useRef<HTMLInputElement>(null);
  const today = localDay(new Date());
  const query = askFor(look, today);
  const { table, error, current } = useTable(
    `${query}&from=${printing ? 0 : from}&most=${printing ? mostPrinted : page}`,
  );
  const d = useDoing();
  const change = (next: Look) => {
    setLook(next);
    setFrom(0);
    const q = writeLook(next);
    keepRegister(writeLook({ ...next, q: "" })); // search words are not kept
    history.replaceState(null, "", q === "" ? location.pathname : `${location.pathname}?${q}`);
  };
  useEffect(() => {
    const slash = (e: KeyboardEvent) => {
      const typing = e.target instanceof Element && e.target.closest("input, textarea, select") !== null;
      if (e.key !== "/" || typing || e.ctrlKey || e.metaKey || e.altKey) return;
      search.current?.focus();
      e.preventDefault();
    };
    addEventListener("keydown", slash);
    return () => removeEventListener("keydown", slash);
  }, []);
  useEffect(() => {
    if (!printing || !table || table.rows.length < Math.min(table.found, mostPrinted)) return;
    globalThis.print();
    print(false);
  }, [printing, table]);
  made = made.filter((g) => !table?.rows.some((x) => x.id === g.id));
  const fresh = from === 0 ? made.filter((g) => matcher(look.q)(g) > 0) : [];
  const rows: Gauge[] | undefined = table && [...fresh, ...table.rows];
  const found = table?.found ?? 0;
  const choose = (which: { id: string; tag: string }[], on: boolean) => {
    const next = new Map(chosen);
    for (const g of which) on ? next.set(g.id, g.tag) : next.delete(g.id);
    setChosen(next);
    say("");
  };
  const chooseAll = () =>
    d.run(async () => {
      const { ids = [] } = (await send(`/api/office/table?${query}&ids=1&most=1`, undefined, "GET")) as TableReply;
      choose(
        ids.map((id) => ({ id, tag: "" })),
        true,
      );
    });
  const sheet = () => {
    if (chosen.size > mostLabels) return d.say(w.tooMany(mostLabels));
    d.run(async () => {
      const instruments = [...chosen.keys()];
      await save("/api/labels", "labels.pdf", { method: "POST", body: JSON.stringify({ instruments, dated }) });
      say(w.made);
    });
  };
  const tags = () => {
    if (chosen.size > mostLabels) return d.say(w.tooMany(mostLabels));
    d.run(async () => {
      const instruments = [...chosen.keys()];
      await save("/api/labels/defects", "defect-tags.pdf", { method: "POST", body: JSON.stringify({ instruments }) });
      say(w.made);
    });
  };
  const csv = () => d.run(() => save(`/api/office/table.csv?${query}&columns=${look.cols.join()}`, "register.csv"));
  const turn = (by: number): boolean => {
    const next = from + by * page;
    if (next < 0 || next >= found) return false;
    setFrom(next);
    return true;
  };
  const done = (what: ComponentChildren) => {
    begin("");
    say(what);
  };
  const added = (what: ComponentChildren, it?: Made) => {
    if (it) made = [it, ...made];
    done(what);
  };
  const ids = [...chosen.keys()];
  if (doing !== "")
    return (
      <>
        <h1>{w.title}</h1>
        {doing === "change" ? (
          <BulkChange ids={ids} onDone={(b) => done(b ? <Done key={b.id} id={b.id} count={b.count} /> : "")} />
        ) : doing === "out" ? (
          <Later load={loadOut} props={{ query: narrowed(look) ? query : "", found, onDone: () => done("") }} />
        ) : doing === "in" ? (
          <Later load={loadIn} props={{ onDone: done }} />
        ) : doing === "add" ? (
          <Later load={loadItem} props={{ instrument: undefined, onDone: added }} />
        ) : (
          <Later
            load={loadPlan}
            props={{ ids, onDone: (id: string) => (id === "" ? done("") : navigate(`/office/rounds/${id}`)) }}
          />
        )}
      </>
    );
  return (
    <div class="register-page">
      <div class="register-head">
        <h1>{w.title}</h1>
        <span class="quiet number">{table ? w.count(found, table.all) : ""}</span>
        <input
          ref={search}
          type="search"
          aria-label={w.search}
          placeholder={w.search}
          value={look.q}
          spellcheck={false}
          onInput={(e) => change({ ...look, q: e.currentTarget.value })}
        />
        <Button onClick={csv} disabled={d.busy || found === 0}>
          {w.csv}
        </Button>
        <Button onClick={() => print(true)} disabled={printing || found === 0}>
          {w.print}
        </Button>
        <Button onClick={() => begin("in")}>{w.bringIn}</Button>
        <Button onClick={() => begin("out")}>{w.takeOut}</Button>
        <Button kind="main" onClick={() => begin("add")}>
          {w.add}
        </Button>
      </div>
      <div class="register-look">
        <Filters look={look} table={table} onLook={change} />
        <Columns look={look} onLook={change} />
        <Views look={look} onLook={change} />
        <Earlier onDone={say} />
      </div>
      <Complaint error={d.error ?? error} />
      {table === undefined && error === undefined ? <p class="quiet">{words.shell.loading}</p> : null}
      {rows?.length === 0 ? <p>{narrowed(look) ? w.none : w.empty}</p> : null}
      {table?.near ? <p role="status">{w.near}</p> : null}
      {printing && found > mostPrinted ? <p>{w.printed(mostPrinted, found)}</p> : null}
      {rows && rows.length > 0 ? (
        <RegisterTable
          rows={rows}
          look={look}
          busy={!current}
          today={today}
          chosen={chosen}
          onLook={change}
          onChoose={choose}
          onTurn={turn}
        />
      ) : null}
      <div class="register-foot">
        <span role="status">{said !== "" ? said : w.chosen(chosen.size)}</span>
        <Button disabled={chosen.size === 0 || d.busy} onClick={() => begin("plan")}>
          {w.round}
        </Button>
        <Button disabled={chosen.size === 0 || d.busy} onClick={() => begin("change")}>
          {bulkWords.open}
        </Button>
        <Button disabled={chosen.size === 0 || d.busy} onClick={sheet}>
          {w.sheet}
        </Button>
        <Check label={w.dated} checked={dated} onChange={setDated} />
        <Button disabled={chosen.size === 0 || d.busy} onClick={tags}>
          {w.tags}
        </Button>
        <Button kind="quiet" disabled={found === 0 || d.busy} onClick={chooseAll}>
          {w.all(found)}
        </Button>
        <Button kind="quiet" disabled={chosen.size === 0} onClick={() => setChosen(new Map())}>
          {w.clear}
        </Button>
        {found > page ? (
          <span class="pages">
            <Button kind="quiet" disabled={from === 0} onClick={() => turn(-1)}>
              {w.earlier}
            </Button>
            <span class="number">{w.page(from + 1, Math.min(from + page, found), found)}</span>
            <Button kind="quiet" disabled={from + page >= found} onClick={() => turn(1)}>
              {w.later}
            </Button>
          </span>
        ) : null}
        <span class="keys small quiet">{w.keys}</span>
      </div>
    </div>
  );
}
