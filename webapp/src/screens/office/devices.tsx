import { useState } from "preact/hooks";
import { useNow } from "../../nav/status";
import { syncWords } from "../../words/sync";
import { showAge } from "../../words/words";
import { useAsk, Waiting } from "../../nav/asking";
import { UnsentFile } from "./unsent";

const w = syncWords.devices;

export type DeviceRow = {
  id: string;
  user: string;
  name: string;
  hub: boolean;
  last: string;
  store: string;
  behind: number;
  version: string;
  reports: boolean;
  offset_ms: number;
  waiting: number;
  photos: number;
  oldest: string;
  warnings: string[];
};
type Reply = { now: string; version: string; devices: DeviceRow[] };

/**
 * showOffset writes the difference of a device's clock from the server's, in the largest unit that
 * fits.
 */
export function showOffset(ms: number): string {
  const s = Math.round(Math.abs(ms) / 1000);
  if (s < 5) return w.right;
  const size =
    s < 120
      ? w.seconds(s)
      : s < 7200
        ? w.minutes(Math.round(s / 60))
        : s < 172_800
          ? w.hours(Math.round(s / 3600))
          : w.days(Math.round(s / 86_400));
  return ms > 0 ? w.ahead(size) : w.behind(size);
}

/** deviceFacts writes one line on a device: what waits on it, its clock, its version. */
export function deviceFacts(d: DeviceRow, now: number): string {
  const waits = d.waiting + d.photos > 0;
  const parts = [
    w.last(showAge(Date.parse(d.last), now)),
    d.reports || d.version !== "" ? (waits ? "" : w.nothing) : d.hub ? "" : w.untold,
    d.waiting > 0 ? w.waiting(d.waiting) : "",
    d.photos > 0 ? w.photos(d.photos) : "",
    waits && d.oldest !== "" ? w.oldest(showAge(Date.parse(d.oldest), now)) : "",
    d.reports ? w.clock(showOffset(d.offset_ms)) : "",
    d.behind > 0 ? w.lacks(d.behind) : "",
    d.version === "" ? "" : w.version(d.version),
    d.store === "" ? "" : w.store(d.store),
  ];
  return parts.filter(Boolean).join(" · ");
}

function List({ devices, now }: { devices: DeviceRow[]; now: number }) {
  return (
    <ul class="rows devices">
      {devices.map((d) => (
        <li key={d.id}>
          <p>
            <span class="lead">{d.name}</span>{" "}
            <span class="quiet">{[d.hub ? w.hub : "", d.id.slice(0, 6)].filter(Boolean).join(" ")}</span>
            <br />
            <span class="small">{deviceFacts(d, now)}</span>
          </p>
          {d.warnings.length === 0 ? null : (
            <ul class="attention">
              {d.warnings.map((x) => (
                <li key={x}>{w.warnings[x] ?? x}</li>
              ))}
            </ul>
          )}
        </li>
      ))}
    </ul>
  );
}

/**
 * DevicesScreen shows the state of every device that exchanged with the server, and imports the
 * file of one that cannot.
 */
export function DevicesScreen() {
  const asked = useAsk<Reply>("/api/office/devices");
  const [opened] = useState(Date.now());
  const passed = useNow() - opened;
  const r = asked.reply;
  // By the server's clock, which wrote the times; the clock here may be wrong.
  const now = r ? Date.parse(r.now) + Math.max(passed, 0) : 0;
  const some = (r?.devices ?? []).filter((d) => d.warnings.length > 0);
  const others = (r?.devices ?? []).filter((d) => d.warnings.length === 0);
  return (
    <>
      <h1>{w.title}</h1>
      <p class="quiet">{w.hint}</p>
      <Waiting asked={asked} />
      {r?.devices.length === 0 ? <p>{w.none}</p> : null}
      {some.length > 0 ? (
        <>
          <h2>{w.look}</h2>
          <List devices={some} now={now} />
        </>
      ) : null}
      {others.length > 0 ? (
        <>
          <h2>{w.others}</h2>
          <List devices={others} now={now} />
        </>
      ) : null}
      <UnsentFile onTaken={asked.again} />
    </>
  );
}
