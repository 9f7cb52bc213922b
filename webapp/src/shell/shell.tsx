import { Component, type ComponentChildren } from "preact";
import { useEffect, useRef, useState } from "preact/hooks";
import { link } from "../link/link";
import { Button } from "../parts/button";
import { Later } from "../parts/later";
import { FindScreen } from "../screens/find/find";
import { InstrumentScreen, LabelScreen } from "../screens/instrument/instrument";
import { LoginScreen } from "../forms/login";
import { RoundScreen } from "../screens/round/round";
import { isFresh, open, StoreError } from "../store/store";
import type { Role } from "../wire/api";
import { words } from "../words/words";
import { navigate, type Route, readRoute, usePath } from "../nav/route";
import { SyncLine, useLink } from "../nav/status";
import { keepOffline, useUpdate } from "../nav/update";

/** Guard shows a plain sentence instead of a screen that crashed. Saved data stays saved. */
class Guard extends Component<{ children: ComponentChildren }, { broken: boolean }> {
  override state = { broken: false };
  override componentDidCatch(e: unknown): void {
    console.error(e);
    this.setState({ broken: true });
  }
  override render() {
    if (!this.state.broken) return this.props.children;
    return (
      <div role="alert">
        <p>{words.shell.broken}</p>
        <Button onClick={() => location.reload()}>{words.shell.again}</Button>
      </div>
    );
  }
}

const loadVisit = () => import("../screens/visit/visit").then((m) => m.VisitScreen);
const loadProgrammes = () => import("../screens/programme/programmes").then((m) => m.ProgrammesScreen);
const loadSettings = () => import("../screens/settings/settings").then((m) => m.SettingsScreen);
const loadHelp = () => import("../screens/help/help").then((m) => m.HelpScreen);
const loadOffice = () => import("./office").then((m) => m.OfficeScreen);

function Screen({ route }: { route: Route }) {
  switch (route.kind) {
    case "round":
      return <RoundScreen />;
    case "find":
      return <FindScreen />;
    case "device":
      return <Later key="device" load={loadSettings} props={{}} />;
    case "label":
      return <LabelScreen label={route.label} />;
    case "instrument":
      return <InstrumentScreen key={route.id} id={route.id} />;
    case "visit":
      return <Later key={route.id} load={loadVisit} props={{ id: route.id }} />;
    case "programmes":
      return <Later key={route.id ?? "programmes"} load={loadProgrammes} props={{ id: route.id }} />;
    case "office":
      return <Later key="office" load={loadOffice} props={{ path: route.path }} />;
    case "help":
      return <Later key={route.page ?? "help"} load={loadHelp} props={{ page: route.page }} />;
    case "missing":
      return <p>{words.shell.missing}</p>;
    default: {
      const never: never = route;
      return never;
    }
  }
}

function Nav({ route, role }: { route: Route; role: Role }) {
  const items: [string, string, boolean][] = [
    ["/round", words.shell.round, route.kind === "round"],
    ["/find", words.shell.find, route.kind === "find" || route.kind === "label" || route.kind === "instrument"],
    ...(role === "technician"
      ? []
      : [["/office", words.shell.office, route.kind === "office"] as [string, string, boolean]]),
    ["/device", words.shell.device, route.kind === "device"],
  ];
  return (
    <nav aria-label={words.shell.menu}>
      {items.map(([href, name, here]) => (
        <a key={href} href={href} aria-current={here ? "page" : undefined}>
          {name}
        </a>
      ))}
    </nav>
  );
}

/** helpOf is the page of help that a screen has. */
const helpOf: { [kind in Route["kind"]]?: string } = {
  round: "round",
  find: "find",
  label: "instrument",
  instrument: "instrument",
  device: "device",
  office: "office",
};

type Ready = "reading" | "ready" | "blocked" | "broken";

/**
 * Shell is the frame around every screen: where the person is, what waits to be sent, and an
 * offered update.
 */
export function Shell() {
  const [ready, setReady] = useState<Ready>("reading");
  const [emptied, setEmptied] = useState(false);
  const path = usePath();
  const main = useRef<HTMLElement>(null);
  const first = useRef(true);
  useEffect(() => {
    open()
      .then(() => link.load())
      .then(
        () => {
          setReady("ready");
          link.start();
          // A log-in that outlived the database, since the browser has emptied the storage in
          // between; or one through a provider, from whose page the browser has come back.
          const outside = location.hash === "#openid";
          if (outside) history.replaceState(history.state, "", location.pathname);
          if (outside || (isFresh() && !link.now().user)) {
            link.renew().then(
              () => {
                setEmptied(!outside);
                link.nudge();
              },
              () => undefined,
            );
          }
        },
        (e: unknown) => setReady(e instanceof StoreError && e.code === "blocked" ? "blocked" : "broken"),
      );
    keepOffline().catch((e: unknown) => console.error(e));
  }, []);
  useEffect(() => {
    if (!first.current) {
      main.current?.focus({ preventScroll: true });
      main.current?.scrollTo(0, 0);
    }
    first.current = false;
  }, [path]);
  const state = useLink();
  const update = useUpdate();
  const route = readRoute(path);
  if (ready !== "ready") {
    const said = { reading: words.shell.loading, blocked: words.shell.storeBlocked, broken: words.shell.storeBroken }[
      ready
    ];
    return (
      <main class="alone">
        <p role={ready === "reading" ? "status" : "alert"}>{said}</p>
      </main>
    );
  }
  const working = route.kind === "visit";
  return (
    <div
      class={
        working ? "frame working" : route.kind === "office" || route.kind === "programmes" ? "frame wide" : "frame"
      }
    >
      <a class="skip" href="#content">
        {words.shell.skip}
      </a>
      <header>
        {working && state.user ? (
          <Button kind="quiet" label={words.shell.back} onClick={() => navigate("/round")}>
            <svg viewBox="0 0 24 24" aria-hidden="true">
              <path d="M15 5l-7 7 7 7" />
            </svg>
          </Button>
        ) : null}
        {state.user ? <SyncLine brief={working} /> : <p class="sync-line">{words.name}</p>}
        {update && !working ? (
          <div class="offer" role="status">
            <span>{words.shell.update}</span>
            <Button onClick={update}>{words.shell.updateNow}</Button>
          </div>
        ) : null}
      </header>
      <main id="content" tabIndex={-1} ref={main}>
        {emptied ? <p role="alert">{words.shell.emptied}</p> : null}
        <Guard key={path}>{state.user ? <Screen route={route} /> : <LoginScreen />}</Guard>
        {state.user && helpOf[route.kind] ? (
          <p class="help-link">
            <a href={`/help/${helpOf[route.kind]}`}>{words.shell.help}</a>
          </p>
        ) : null}
      </main>
      {state.user && !working ? <Nav route={route} role={state.user.role} /> : null}
    </div>
  );
}

export { Later };
