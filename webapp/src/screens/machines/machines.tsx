import { machinesWords as w } from "../../words/machines";
import { Calendars } from "./calendars";
import { Hooks } from "./hooks";
import { MailOf } from "./mail";
import { Tokens } from "./tokens";

export type MachinesPart = "tokens" | "hooks" | "calendars" | "mail";

const parts: readonly MachinesPart[] = ["tokens", "hooks", "calendars", "mail"];

/** MachinesScreen is where an administrator sets what other systems and programs get. */
export function MachinesScreen({ part }: { part: MachinesPart }) {
  return (
    <>
      <h1>{w.title}</h1>
      <nav class="office-nav" aria-label={w.menu}>
        {parts.map((p) => (
          <a
            key={p}
            href={p === "tokens" ? "/office/machines" : `/office/machines/${p}`}
            aria-current={p === part ? "page" : undefined}
          >
            {w.parts[p]}
          </a>
        ))}
      </nav>
      {part === "tokens" ? <Tokens /> : null}
      {part === "hooks" ? <Hooks /> : null}
      {part === "calendars" ? <Calendars /> : null}
      {part === "mail" ? <MailOf /> : null}
    </>
  );
}
