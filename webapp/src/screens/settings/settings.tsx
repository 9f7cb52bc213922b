import { useEffect, useState } from "preact/hooks";
import { link } from "../../link/link";
import { Button } from "../../parts/button";
import { download } from "../../parts/download";
import { Choice } from "../../parts/field";
import { LoginForm } from "../../forms/login";
import { Later } from "../../parts/later";
import { setMark, setTheme, theme } from "../../nav/choices";
import { chooseLanguage, languages } from "../../nav/language";
import { useLink, useNow, useQueue } from "../../nav/status";
import { identityOf } from "../../records/person";
import { useLive, useRecord } from "../../store/hooks";
import { exportUnsent, meta } from "../../store/store";
import { type Language, language } from "../../words/language";
import { settingsWords } from "../../words/settings";
import { decimalMark, type Mark, sentence, showAge, showDateTime, words } from "../../words/words";

const loadAccount = () => import("../../forms/account").then((m) => m.Account);

type Storage = { persisted: boolean; used: number | undefined };

async function look(): Promise<Storage> {
  const persisted = (await navigator.storage?.persisted?.()) ?? false;
  return { persisted, used: (await navigator.storage?.estimate?.())?.usage };
}

/** SettingsScreen shows how safe this device's work is, and lets a person save it to a file. */
export function SettingsScreen() {
  const w = settingsWords;
  const state = useLink();
  const q = useQueue();
  const now = useNow();
  const [storage, setStorage] = useState<Storage | undefined>();
  const [saved, setSaved] = useState(false);
  const forked = useLive(
    () => meta("forked"),
    () => true,
    [],
  );
  const [shownTheme, showTheme] = useState(theme());
  const [mark, showMark] = useState<Mark>(decimalMark());
  const [spoken, setSpoken] = useState(language);
  const [fetching, setFetching] = useState("");
  const speak = (l: Language) => {
    setSpoken(l);
    setFetching(w.fetching);
    void chooseLanguage(l)
      .catch(() => false)
      .then((done) => {
        if (done) return;
        setSpoken(language);
        setFetching(w.away);
      });
  };
  const again = () => {
    look().then(setStorage, (e: unknown) => console.warn(e));
  };
  useEffect(again, []);
  const person = useRecord(state.user?.id ?? "");
  const who = identityOf(state.user, person ?? undefined);
  const installed = matchMedia("(display-mode: standalone)").matches;
  const waits = q ? q.count + q.photos : 0;
  const own = q?.count ?? 0;
  const refused = q?.refused.length ?? 0;
  const [asking, setAsking] = useState(false);
  const [account, setAccount] = useState(false);
  const leave = () => {
    setAsking(false);
    link.logout().catch((e: unknown) => console.error(e));
  };
  return (
    <>
      <h1>{w.title}</h1>
      <h2>{w.unsent}</h2>
      <p>
        {q === undefined
          ? words.shell.loading
          : waits === 0
            ? w.nothing
            : [
                q.count > 0 ? words.sync.waiting(q.count) : "",
                q.photos > 0 ? words.sync.photos(q.photos) : "",
                q.oldest === undefined ? "" : words.sync.since(showAge(q.oldest, now)),
              ]
                .filter(Boolean)
                .join(", ")}
      </p>
      {q?.others.map((o) => (
        <p key={o.author}>{words.sync.others(o.count, o.name)}</p>
      ))}
      {state.problem ? <p>{words.sync[state.problem]}</p> : null}
      {state.problem === "login" ? (
        <>
          <p>{w.loginAgain}</p>
          <LoginForm again={state.user?.name ?? ""} />
        </>
      ) : null}
      <div class="buttons">
        <Button kind="main" disabled={state.running} onClick={() => void link.sync()}>
          {words.sync.now}
        </Button>
        <Button
          onClick={() => {
            exportUnsent().then(
              (body) => {
                download(
                  `gaugewright-unsent-${new Date().toISOString().slice(0, 10)}.json`,
                  new Blob([body], { type: "application/json" }),
                );
                setSaved(true);
              },
              (e: unknown) => console.error(e),
            );
          }}
        >
          {w.save}
        </Button>
      </div>
      <p role="status">{saved ? w.saved : ""}</p>
      {q && q.refused.length > 0 ? (
        <>
          <h2>{w.refused}</h2>
          <ul class="rows">
            {q.refused.map((c) => (
              <li key={c.id}>
                <p>
                  <span class="lead">{c.change.kind}</span> {c.change.set.map((s) => s.field).join(", ")}
                  <br />
                  <span class="quiet">{sentence(c.quarantined ?? "")}</span>
                </p>
              </li>
            ))}
          </ul>
        </>
      ) : null}
      <h2>{w.storage}</h2>
      {forked === undefined ? null : <p>{w.forked(showDateTime(forked))}</p>}
      <p>{storage?.persisted ? w.persisted : w.notPersisted}</p>
      {storage && !storage.persisted ? (
        <Button
          onClick={() => {
            navigator.storage?.persist?.().then(again, (e: unknown) => console.warn(e));
          }}
        >
          {w.persist}
        </Button>
      ) : null}
      <p>{installed ? w.installed : w.notInstalled}</p>
      {installed ? null : <p class="quiet">{w.installHint}</p>}
      {storage?.used === undefined ? null : <p class="quiet">{w.used((storage.used / 1e6).toFixed(1))}</p>}
      <h2>{w.look}</h2>
      <Choice
        label={w.ground}
        value={shownTheme}
        options={[["auto", w.theme.auto] as const, ["day", w.theme.day] as const, ["night", w.theme.night] as const]}
        onChange={(t) => {
          setTheme(t);
          showTheme(t);
        }}
      />
      <Choice label={w.language} value={spoken} options={languages} onChange={speak} />
      <p role="status">{fetching}</p>
      <Choice
        label={w.mark}
        value={mark}
        options={[[".", w.marks["."]] as const, [",", w.marks[","]] as const]}
        onChange={(m) => {
          setMark(m);
          showMark(m);
        }}
      />
      <h2>{w.user}</h2>
      <p>
        {w.userAs(who.name, who.as)}
        <br />
        <span class="small quiet">{w.userLogin(state.user?.name ?? "")}</span>
      </p>
      <p class="small quiet">{w.userHint}</p>
      {account ? (
        <Later load={loadAccount} props={{}} />
      ) : (
        <Button onClick={() => setAccount(true)}>{w.account}</Button>
      )}
      {asking && own + refused > 0 ? (
        <div class="caution" role="alert">
          {own > 0 ? <p>{w.logoutWaits(own)}</p> : null}
          {refused > 0 ? <p>{w.logoutRefused}</p> : null}
          <div class="buttons">
            <Button kind="main" onClick={() => setAsking(false)}>
              {w.stay}
            </Button>
            <Button onClick={leave}>{w.logoutNow}</Button>
          </div>
        </div>
      ) : (
        <Button disabled={q === undefined} onClick={() => (own + refused > 0 ? setAsking(true) : leave())}>
          {w.logout}
        </Button>
      )}
    </>
  );
}
