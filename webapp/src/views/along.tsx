import { useEffect, useState } from "preact/hooks";
import { takeAlong } from "../nav/hold";
import { Button } from "../parts/button";
import { Choice, Field } from "../parts/field";
import { localDay } from "../records/stops";
import { areas, type Area } from "../store/areas";
import { plain } from "../store/search";
import { alongWords as w } from "../words/along";
import { showDate } from "../words/words";

/** The most instruments taken along at once: about 20 MB of records. */
const most = 500;
/** Areas shown at once; the others are found by typing. */
const shown = 8;
const longestDays = 14;

const dayFrom = (days: number) => localDay(new Date(Date.now() + days * 86_400_000));
const nameOf = (a: Area, several: boolean) => [several ? a.code : "", a.area || w.noArea].filter(Boolean).join(", ");

/**
 * Along takes an area along for days in a dead spot, since a phone of a large plant holds only a
 * part of it.
 */
export function Along() {
  const [all, set] = useState<Area[] | undefined>();
  const [typed, type] = useState("");
  const [chosen, choose] = useState<string | undefined>();
  const [until, stay] = useState(dayFrom(1));
  const [so, say] = useState<
    { done: number; of: number; state: "going" | "done" | "broken"; day: string } | undefined
  >();
  const look = () => areas().then(set, (e: unknown) => console.error(e));
  useEffect(() => void look(), []);
  if (all === undefined || all.length === 0) return null;
  const several = new Set(all.map((a) => a.site)).size > 1;
  const found = all.filter((a) => plain(nameOf(a, several)).includes(plain(typed.trim())));
  const area = all.find((a) => a.key === chosen);
  const going = so?.state === "going";
  const last = dayFrom(longestDays);
  const dated = until >= dayFrom(0) && until <= last;
  const take = async ({ ids }: Area) => {
    say({ done: 0, of: ids.length, state: "going", day: until });
    let done = 0;
    try {
      const came = await takeAlong(ids, until, (n) => {
        done = n;
        say({ done, of: ids.length, state: "going", day: until });
      });
      say({ done: came, of: ids.length, state: "done", day: until });
    } catch (e) {
      console.error(e);
      say({ done, of: ids.length, state: "broken", day: until });
    }
    await look();
  };
  return (
    <section aria-label={w.title}>
      <h2>{w.title}</h2>
      <p class="quiet">{w.hint}</p>
      {all.length > shown ? <Field label={w.find} type="search" value={typed} onInput={type} /> : null}
      <Choice
        label={w.area}
        value={chosen}
        onChange={(key) => {
          choose(key);
          say(undefined);
        }}
        options={found.slice(0, shown).map((a) => [a.key, w.option(nameOf(a, several), a.here, a.ids.length)] as const)}
      />
      {found.length > shown ? <p class="small quiet">{w.more(found.length - shown)}</p> : null}
      {area ? (
        <>
          <Field
            label={w.until}
            type="date"
            value={until}
            onInput={stay}
            {...(dated ? {} : { error: w.days(showDate(last)) })}
          />
          {area.ids.length > most ? (
            <p class="caution">{w.tooMany(area.ids.length, most)}</p>
          ) : (
            <Button kind="main" size="tall" wide disabled={going || !dated} onClick={() => void take(area)}>
              {w.take(area.ids.length)}
            </Button>
          )}
        </>
      ) : null}
      {so === undefined ? null : (
        <p role={so.state === "broken" ? "alert" : "status"}>
          {so.state === "going"
            ? w.progress(so.done, so.of)
            : so.state === "broken"
              ? w.broken(so.done, so.of)
              : w.done(so.done, showDate(so.day))}
          {so.state === "done" && so.done < so.of ? ` ${w.lacks(so.of - so.done)}` : ""}
        </p>
      )}
    </section>
  );
}
