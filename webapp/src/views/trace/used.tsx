import { asNumber, asObject } from "../../wire/records";
import { traceWords as w } from "../../words/trace";
import { sentence, showDateTime, showDecimal } from "../../words/words";
import type { Read } from "../../records/trace";

const listed = 20;
const grouped = new Intl.NumberFormat("en", { useGrouping: true, maximumFractionDigits: 0 });

/** count writes a whole number with its thousands separated. */
export const count = (n: number) => grouped.format(n).replaceAll(",", "\u202f");

const number = (v: number) => showDecimal(Number(v.toPrecision(9)));

/** Used says how much of a record is used and, with its line, what is not. */
export function Used({ read, block, to }: { read: Read; block: number; to: "mean" | "extremes" }) {
  const s = read.state;
  const n = (name: string) => asNumber(s[name]) ?? 0;
  const missing = Object.entries(w.missing).filter(([name]) => n(`missing_${name}`) > 0);
  const by = Object.entries(asObject(s["faults_by"]));
  return (
    <section aria-label={w.read}>
      <p>
        {w.used(count(n("used")), count(n("rows")))}{" "}
        {read.start === ""
          ? ""
          : w.start(read.start.endsWith("Z") ? showDateTime(read.start) : read.start.replace("T", " "))}
      </p>
      {block > 1 ? (
        <p class="quiet">{w.thinned(count(n("used")), count(n("kept")), to === "mean" ? w.mean : w.extremes)}</p>
      ) : null}
      {missing.map(([name, what]) => (
        <p key={name} class="caution">
          {w.missed(what, count(n(`missing_${name}`)))}
        </p>
      ))}
      {n("outside") > 0 ? <p>{w.outside(count(n("outside")))}</p> : null}
      {n("faults") > 0 ? (
        <>
          <p class="caution">{w.faults(count(n("faults")))}</p>
          <ul class="trace-notes">
            {read.faults.slice(0, listed).map((f, i) => (
              <li key={i}>
                <strong>{w.line(f.line)}</strong> {f.cell === "" ? "" : `\u201c${f.cell}\u201d: `}
                {sentence(f.message)}
              </li>
            ))}
            {n("faults") > Math.min(listed, read.faults.length) ? (
              <li>
                {w.more(count(n("faults") - Math.min(listed, read.faults.length)))} (
                {by.map(([code, k]) => `${code.replaceAll("_", " ")} ${count(asNumber(k) ?? 0)}`).join(", ")})
              </li>
            ) : null}
          </ul>
        </>
      ) : null}
      {n("gaps") > 0 ? (
        <>
          <p class="caution">{w.gaps(count(n("gaps")))}</p>
          <ul class="trace-notes">
            {read.gaps.slice(0, listed).map((g) => (
              <li key={g.line}>
                <strong>{w.line(g.line)}</strong>{" "}
                {g.bridged === undefined
                  ? w.gap(number(g.from), number(g.to))
                  : w.bridged(number(g.from), number(g.to), number(g.bridged))}
              </li>
            ))}
            {n("gaps") > Math.min(listed, read.gaps.length) ? (
              <li>{w.more(count(n("gaps") - Math.min(listed, read.gaps.length)))}</li>
            ) : null}
          </ul>
        </>
      ) : null}
      {missing.length === 0 && n("faults") === 0 && n("gaps") === 0 ? <p class="quiet">{w.everything}</p> : null}
    </section>
  );
}
