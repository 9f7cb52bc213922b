import { Later } from "../parts/later";
import { useLink } from "../nav/status";
import { officeWords } from "../words/office";
import { words } from "../words/words";
import { AsideScreen } from "../screens/office/aside";
import { DayScreen } from "../screens/office/day";
import { HistoryScreen } from "../views/history";
import { LaboratoryScreen } from "../screens/office/laboratory";
import { type Place, placeOf } from "../records/office";
import type { LoadPlan } from "../screens/register/register";
import { OfficeVisit } from "../screens/office/visit";

declare const DESK_STYLES: string;

/** fetchStyles fetches the style sheet of the office's screens, which are plain without it. */
function fetchStyles(): Promise<void> {
  return new Promise((done) => {
    const sheet = document.createElement("link");
    sheet.rel = "stylesheet";
    sheet.href = DESK_STYLES;
    sheet.onload = () => done();
    sheet.onerror = () => done();
    document.head.append(sheet);
  });
}

await fetchStyles(); // nothing of the office is shown before its styles are there

const w = officeWords;
const loadStandards = () => import("../screens/standards/standards").then((m) => m.StandardsScreen);
const loadMethods = () => import("../screens/methods/methods").then((m) => m.MethodsScreen);
const loadRounds = () => import("../screens/rounds/rounds").then((m) => m.RoundsScreen);
const loadRegister = () => import("../screens/register/register").then((m) => m.RegisterScreen);
const loadPlanning = () => import("../screens/planning/planning").then((m) => m.PlanningScreen);
const loadFigures = () => import("../screens/history/figures").then((m) => m.FiguresScreen);
const loadPlan: LoadPlan = () => import("../screens/rounds/rounds").then((m) => m.PlanRound);
const loadPeople = () => import("../screens/office/people").then((m) => m.PeopleScreen);
const loadQueue = () => import("../screens/management/queue").then((m) => m.QueueScreen);
const loadState = () => import("../screens/management/state").then((m) => m.StateScreen);
const loadLookbacks = () => import("../screens/management/lookbacks").then((m) => m.LookbacksScreen);
const loadCompetence = () => import("../screens/management/competence").then((m) => m.CompetenceScreen);
const loadKeys = () => import("../screens/office/signing").then((m) => m.SigningScreen);
const loadEvents = () => import("../screens/office/events").then((m) => m.EventsScreen);
const loadMachines = () => import("../screens/machines/machines").then((m) => m.MachinesScreen);
const loadCalculate = () => import("../screens/calculate/calculate").then((m) => m.CalculateScreen);
const loadSync = () => import("../screens/office/sync").then((m) => m.SyncPart);

function Here({ place }: { place: Place }) {
  switch (place.kind) {
    case "day":
      return place.date === undefined ? (
        <Later key="queue" load={loadQueue} props={{}} />
      ) : (
        <DayScreen date={place.date} />
      );
    case "state":
      return <Later key="state" load={loadState} props={{}} />;
    case "competence":
      return <Later key="competence" load={loadCompetence} props={{}} />;
    case "lookbacks":
      return <Later key={`lookbacks ${place.id ?? ""}`} load={loadLookbacks} props={{ id: place.id }} />;
    case "visit":
      return <OfficeVisit key={place.id} id={place.id} />;
    case "history":
      return <HistoryScreen key={place.id} id={place.id} />;
    case "register":
      return <Later key="register" load={loadRegister} props={{ loadPlan }} />;
    case "figures":
      return <Later key={place.id ?? "figures"} load={loadFigures} props={{ id: place.id }} />;
    case "planning":
      return <Later key="planning" load={loadPlanning} props={{}} />;
    case "aside":
      return <AsideScreen />;
    case "people":
      return <Later key="people" load={loadPeople} props={{}} />;
    case "keys":
      return <Later key="keys" load={loadKeys} props={{}} />;
    case "events":
      return <Later key="events" load={loadEvents} props={{}} />;
    case "machines":
      return <Later key="machines" load={loadMachines} props={{ part: place.part }} />;
    case "calculate":
      return <Later key="calculate" load={loadCalculate} props={{ part: place.part }} />;
    case "laboratory":
      return <LaboratoryScreen />;
    case "standards":
      return <Later key="standards" load={loadStandards} props={{ id: place.id, part: place.part }} />;
    case "methods":
      return <Later key="methods" load={loadMethods} props={{ id: place.id }} />;
    case "rounds":
      return <Later key="rounds" load={loadRounds} props={{ id: place.id }} />;
    case "devices":
    case "contested":
      return <Later key="sync" load={loadSync} props={{ kind: place.kind, id: place.id }} />;
    case "missing":
      return <p>{words.shell.missing}</p>;
    default: {
      const never: never = place;
      return never;
    }
  }
}

/** The link of a menu entry, its name, and whether it is the present page. */
type Item = [href: string, name: string, here: boolean];

/** OfficeScreen shows reviewers and administrators everybody's work. It needs a connection. */
export function OfficeScreen({ path }: { path: string }) {
  const user = useLink().user;
  if (user === undefined || user.role === "technician") return <p>{w.noRight}</p>;
  const place = placeOf(path);
  const admin = user.role === "administrator";
  const { parts, groups } = w;
  const { kind } = place;
  const menu: [string, Item[]][] = [
    [
      groups.work,
      [
        ["/office", parts.day, kind === "day" || kind === "visit"],
        ["/office/rounds", parts.rounds, kind === "rounds"],
        ["/office/planning", parts.planning, kind === "planning"],
        ["/office/figures", parts.figures, kind === "figures"],
        ["/office/state", parts.state, kind === "state"],
      ],
    ],
    [
      groups.plant,
      [
        ["/office/register", parts.register, kind === "register" || kind === "history"],
        ["/office/standards", parts.standards, kind === "standards" || kind === "lookbacks"],
        ["/office/methods", parts.methods, kind === "methods"],
        ["/office/calculate", parts.calculate, kind === "calculate"],
      ],
    ],
    [
      groups.sync,
      [
        ["/office/contested", parts.contested, kind === "contested"],
        ["/office/aside", parts.aside, kind === "aside"],
        ["/office/devices", parts.devices, kind === "devices"],
      ],
    ],
    [
      groups.office,
      [
        ...(admin ? ([["/office/people", parts.people, kind === "people"]] as Item[]) : []),
        ["/office/competence", parts.competence, kind === "competence"],
        ["/office/laboratory", parts.laboratory, kind === "laboratory"],
        ...(admin
          ? ([
              ["/office/keys", parts.keys, kind === "keys"],
              ["/office/machines", parts.machines, kind === "machines"],
              ["/office/events", parts.events, kind === "events"],
            ] as Item[])
          : []),
      ],
    ],
  ];
  return (
    <div class="office">
      <nav class="office-nav" aria-label={w.menu}>
        {menu.map(([name, items]) => (
          <div key={name} class="group">
            <span>{name}</span>
            {items.map(([href, text, here]) => (
              <a key={href} href={href} aria-current={here ? "page" : undefined}>
                {text}
              </a>
            ))}
          </div>
        ))}
      </nav>
      <div class="here">
        <Here place={place} />
      </div>
    </div>
  );
}
