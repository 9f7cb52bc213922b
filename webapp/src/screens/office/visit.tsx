import { shapes } from "../../wire/records.gen";
import { read, readEach, readField } from "../../wire/read";
import { useEffect, useState } from "preact/hooks";
import { LinkError, link } from "../../link/link";
import { queue } from "../../store/store";
import { Button } from "../../parts/button";
import { Check } from "../../parts/check";
import { Field } from "../../parts/field";
import { Later } from "../../parts/later";
import { Pick } from "../../parts/pick";
import { strokePath } from "../../parts/signature-pad";
import {
  asNumber,
  asObject,
  asText,
  heads,
  type Json,
  many,
  object,
  type RecordState,
  text,
  value,
} from "../../wire/records";
import { afterWords } from "../../words/after";
import { amendWords as p } from "../../words/amend";
import { officeWords } from "../../words/office";
import { sentence, showDate, showDateTime, showDecimal } from "../../words/words";
import { showLimit, showRange } from "../../records/facts";
import { kindOf } from "../../views/kinds";
import { loadFacts } from "../../views/later";
import { type Asked, Complaint, Facts, save, saying, send, useAsk, useDoing, Waiting } from "../../nav/asking";
import { Fresh } from "../../nav/fresh";
import { nextOf } from "../../nav/list";
import { navigate } from "../../nav/route";
import { deskWords } from "../../words/desk";
import { Attention } from "./day";
import { Dossier, Onward, Pair } from "./pair";
import { HistoryList } from "../../views/history";
import type { CertificateLanguage, Issued, Letterhead, VisitReply } from "../../records/office";
import { useLink } from "../../nav/status";
import { RunSheet } from "./run-sheet";
import { ManifoldSet } from "./set";

const w = officeWords.visit;
const loadErase = () => import("./erase").then((m) => m.Erase);

/**
 * explain says why a decision was refused. A refusal with a code of the server has its own
 * sentence.
 */
function explain(e: unknown): string {
  return (e instanceof LinkError && w.conflict[e.code]) || saying(e);
}

/**
 * attest signs a decision with the key of the person who decides. Without such a key only the
 * office signs.
 *
 * Takes: the statement; for an approval also the visit as it is shown.
 */
async function attest(
  field: string,
  reply: VisitReply,
  said?: { [name: string]: Json },
  more: { [name: string]: Json } = {},
): Promise<{ proof?: string }> {
  if (!globalThis.crypto?.subtle) return {}; // a page without TLS has no keys
  const { content, prove } = await import("../../store/keys");
  const { visit, runs, covers } = reply;
  const value = said ?? { content: await content([visit, ...runs], covers), covers, of: ["visit", "runs"], ...more };
  const { proof, made } = await prove({ by: link.now().user?.id ?? "", field, record: visit.id, value });
  if (made) {
    await link.sync(); // the office has to know a new key first
    if ((await queue()).count > 0) return {};
  }
  return proof === undefined ? {} : { proof };
}

const changesOf = (visit: RecordState, field: string) => heads(visit, field).map((h) => h.change);

function Decide({ asked }: { asked: Asked<VisitReply> }) {
  const [remark, setRemark] = useState("");
  const [reason, setReason] = useState("");
  const [effect, setEffect] = useState("");
  const [said, setSaid] = useState("");
  const [accredited, setAccredited] = useState(false);
  const [language, setLanguage] = useState<CertificateLanguage | "">("");
  const letterhead = useAsk<Letterhead>("/api/office/letterhead");
  const d = useDoing();
  const reply = asked.reply;
  if (!reply) return null;
  const base = `/api/office/visits/${reply.visit.id}`;
  const decide = (work: () => Promise<string>) =>
    d.run(async () => {
      setSaid("");
      try {
        setSaid(await work());
      } finally {
        asked.again();
      }
    }, explain);
  const issued = (got: unknown) => {
    const c = (got as Issued).certificate;
    return c.id === "" ? w.without(sentence(c.without)) : w.certificate(c.number);
  };
  const approve = (after?: () => void) => {
    const means = effect.trim();
    if (reply.effect_asked && means === "") return d.say(deskWords.effect.needed);
    const more = means === "" ? {} : { effect: means };
    decide(async () => {
      const proof = await attest("approval", reply, undefined, more);
      const body = { covers: reply.covers, accredited, language, ...more, ...proof };
      const said = issued(await send(`${base}/approve`, body));
      after?.();
      return said;
    });
  };
  const next = nextOf(reply.visit.id);
  const issue = () => decide(async () => issued(await send(`${base}/certificate`, { accredited, language })));
  const back = () => {
    if (remark.trim() === "") return d.say(w.remarkNeeded);
    decide(async () => {
      const said = { of: changesOf(reply.visit, "signature"), remark: remark.trim() };
      await send(`${base}/return`, { remark: said.remark, ...(await attest("returned", reply, said)) });
      setRemark("");
      return w.sent;
    });
  };
  const reopen = () => {
    if (reason.trim() === "") return d.say(w.reasonNeeded);
    decide(async () => {
      const said = {
        of: changesOf(reply.visit, "approval").slice(0, 1),
        signed: changesOf(reply.visit, "signature"),
        reason: reason.trim(),
      };
      await send(`${base}/reopen`, { reason: said.reason, ...(await attest("reopened", reply, said)) });
      setReason("");
      return w.opened;
    });
  };
  const head = reply.visit.fields["approval"]?.heads[0];
  const claim = (
    <>
      {letterhead.reply?.accreditation ? (
        <Check label={w.accredited} checked={accredited} onChange={setAccredited} />
      ) : null}
      <Pick
        label={officeWords.laboratory.language}
        value={language}
        options={[["", w.asCustomer], ...officeWords.laboratory.languages]}
        onChange={setLanguage}
      />
    </>
  );
  const amending = reply.status !== "approved" && reply.certificates.length > 0;
  return (
    <section class="decide" aria-label={w.decide}>
      <h2>{w.decide}</h2>
      {reply.status === "approved" && head ? (
        <p>{w.approved(reply.people[head.author] ?? head.author, showDateTime(head.wall))}</p>
      ) : null}
      {reply.status === "approved" && reply.effect ? (
        <p class="small">
          <strong>{deskWords.effect.said}:</strong> {reply.effect}
        </p>
      ) : null}
      {reply.status === "open" ? <p>{w.notSigned}</p> : null}
      {reply.status === "returned" ? <p>{w.back}</p> : null}
      {reply.status === "reopened" ? (
        <p>
          {w.isOpen} <a href={`/visit/${reply.visit.id}`}>{w.correctHere}</a>
        </p>
      ) : null}
      {reply.certificates.map((c) => (
        <div key={c.id} id={`certificate-${c.number}`}>
          <Button onClick={() => d.run(() => save(`/api/certificates/${c.id}.pdf`, `certificate-${c.number}.pdf`))}>
            {w.certificate(c.number)}
          </Button>
          {c.machine ? (
            <Button onClick={() => d.run(() => save(`/api/certificates/${c.id}.xml`, `certificate-${c.number}.xml`))}>
              {w.machine(c.number)}
            </Button>
          ) : null}
          {c.replaced_by === "" ? null : (
            <p class="small">
              <a href={`#certificate-${c.replaced_by}`}>{p.replacedBy(c.replaced_by)}</a>
            </p>
          )}
          {c.replaced_by === "" && !c.in_force ? <p class="small">{amending ? p.amending : p.anew}</p> : null}
          {c.replaces === "" ? null : (
            <div class="small">
              <p>
                <a href={`#certificate-${c.replaces}`}>{p.replaces(c.replaces)}</a>
              </p>
              <p>{p.why(c.why)}</p>
              <p>{p.different(c.different)}</p>
            </div>
          )}
        </div>
      ))}
      {reply.status === "approved" && !reply.certificates.some((c) => c.in_force) ? (
        <>
          {claim}
          <Button disabled={d.busy} onClick={issue}>
            {w.issue}
          </Button>
        </>
      ) : null}
      {reply.status === "approved" ? (
        <details class="opened">
          <summary>{w.reopen}</summary>
          <p class="small quiet">{w.reopening}</p>
          <Field label={w.reopenWhy} value={reason} onInput={setReason} lines={3} />
          <Button wide disabled={d.busy} onClick={reopen}>
            {w.reopenNow}
          </Button>
        </details>
      ) : null}
      {reply.status === "approved" ? null : (
        <Button onClick={() => d.run(() => save(`${base}/draft.pdf?language=${language}`, "draft.pdf"))}>
          {w.draft}
        </Button>
      )}
      {reply.status === "signed" ? (
        <>
          {claim}
          <Pair reply={reply} />
          {reply.effect_asked ? (
            <Field
              label={deskWords.effect.label}
              hint={deskWords.effect.hint}
              value={effect}
              onInput={setEffect}
              lines={3}
            />
          ) : null}
          <p class="small quiet">{w.approving}</p>
          <Button kind="main" wide disabled={d.busy} onClick={() => approve()}>
            {w.approve}
          </Button>
          {next ? (
            <Button wide disabled={d.busy} onClick={() => approve(() => navigate(`/office/visit/${next.id}`))}>
              {deskWords.queue.andNext}
            </Button>
          ) : null}
          <Field label={w.remark} value={remark} onInput={setRemark} lines={3} />
          <Button wide disabled={d.busy} onClick={back}>
            {w.sendBack}
          </Button>
        </>
      ) : null}
      <Complaint error={d.error} />
      <p role="status">{said}</p>
    </section>
  );
}

/** Photo fetches one picture with the log-in and shows it. */
function Photo({ photo, n }: { photo: Json; n: number }) {
  const [url, setUrl] = useState<string | undefined>();
  const [gone, setGone] = useState("");
  const { sha256, caption, type: kind } = read(shapes.visit.photo, photo);
  const name = w.photo(n, caption);
  useEffect(() => {
    let made: string | undefined;
    let here = true;
    link
      .request(`/api/blobs/${sha256}`)
      .then(async (r) => {
        if (!r.ok) return setGone(r.status === 410 ? w.photoErased : w.photoMissing);
        const body = new Blob([await r.arrayBuffer()], {
          type: /^image\/(jpeg|png|webp)$/.test(kind) ? kind : "image/jpeg",
        });
        if (!here) return;
        made = URL.createObjectURL(body);
        setUrl(made);
      })
      .catch((e: unknown) => {
        console.error(e);
        setGone(w.photoMissing);
      });
    return () => {
      here = false;
      if (made !== undefined) URL.revokeObjectURL(made);
    };
  }, [sha256]);
  return (
    <li>
      <figure>
        {url ? <img src={url} alt={name} /> : null}
        <figcaption class="small">{gone || name}</figcaption>
      </figure>
    </li>
  );
}

/** note writes a technician's yes or no with the note on it. */
function note({ ok, note }: { ok: boolean | undefined; note: string }, yes: string): string {
  return ok === undefined ? "" : [ok ? yes : "", note].filter(Boolean).join(": ");
}

function unitText(v: string, unit: string): string {
  return v === "" ? "" : `${showDecimal(v)} ${unit}`;
}

/** beside names the meter or barometer that was used beside the standard. */
function beside(label: string, visit: RecordState, field: "meter" | "barometer"): [string, string][] {
  const { id, snapshot: s } = readField("visit", visit, field);
  if (id === "") return [];
  const named = [s.name, s.serial, s.certificate_no, showDate(s.due)];
  return [[label, named.filter(Boolean).join(", ")]];
}

function Sides({ reply }: { reply: VisitReply }) {
  const v = reply.visit;
  const item = readField("visit", v, "item");
  const { limit } = object(v, "item");
  const { snapshot: copy, ...standard } = readField("visit", v, "standard");
  const around = readField("visit", v, "surroundings");
  const method = readField("visit", v, "method");
  const adjusted = readField("visit", v, "adjusted");
  const untested = readField("visit", v, "not_tested");
  const why = [afterWords.untested.causes[untested.cause] ?? "", untested.reason].filter(Boolean).join(": ");
  return (
    <>
      <h2>{w.item}</h2>
      <Facts
        facts={[
          [officeWords.register.range, showRange(item.range)],
          [officeWords.register.place, [item.area, item.place].filter(Boolean).join(", ")],
          [w.allowed, kindOf(v) === "gauge" ? showLimit(limit, item.range.unit) : ""], // other kinds of work have limits of their own
          [w.make, [item.manufacturer, item.model].filter(Boolean).join(", ")],
          [w.serial, item.serial],
        ]}
      />
      <p class="small">
        <a href={`/instrument/${text(v, "instrument")}`}>{w.instrumentPage}</a>
        <br />
        <a href={`/office/history/${text(v, "instrument")}`}>{w.instrumentHistory}</a>
      </p>
      <Dossier id={text(v, "instrument")} tag={item.tag} />
      <h2>{w.work}</h2>
      <Facts
        facts={[
          [w.method, method.name],
          [w.methodReason, method.reason],
          [w.person, reply.people[text(v, "person")] ?? text(v, "person")],
          [w.started, showDateTime(text(v, "started"))],
          [w.identity, note(readField("visit", v, "identity"), w.agrees)],
          [w.condition, note(readField("visit", v, "condition"), w.sound)],
          ...(why === "" ? [] : [[w.notTested, why] as [string, string]]),
          [
            w.adjusted,
            adjusted.done === undefined ? "" : [adjusted.done ? w.yes : w.no, adjusted.note].filter(Boolean).join(": "),
          ],
        ]}
      />
      <ManifoldSet reply={reply} />
      <Later
        key={JSON.stringify([v.fields["disposition"], v.fields["bypasses"]])}
        load={loadFacts}
        props={{ visit: v }}
      />
      <h2>{w.standard}</h2>
      <Facts
        facts={[
          [w.standard, [copy.name, copy.serial].filter(Boolean).join(", ")],
          [officeWords.register.range, showRange(standard.range)],
          [w.certificateNo, copy.certificate_no],
          [w.calibrated, showDate(copy.calibrated)],
          [w.due, showDate(copy.due)],
          [w.reason, standard.reason],
          ...beside(w.meter, v, "meter"),
          ...beside(w.barometer, v, "barometer"),
        ]}
      />
      <h2>{w.surroundings}</h2>
      <Facts
        facts={[
          [w.temperature, unitText(around.temperature_c, "\u00b0C")],
          [w.pressure, unitText(around.pressure_hpa, "hPa")],
          [w.humidity, unitText(around.humidity_percent, "%")],
          [w.head, unitText(readField("visit", v, "head").standard_above_m, "m")],
          [w.permit, readField("visit", v, "cautions").permit],
        ]}
      />
    </>
  );
}

function Signature({ reply }: { reply: VisitReply }) {
  const { visit, keys } = reply;
  const signed = heads(visit, "signature")[0];
  const { name, at, strokes: drawn } = readField("visit", visit, "signature");
  if (name === "") return null;
  const strokes = Array.isArray(drawn) ? drawn : [];
  return (
    <>
      <h2>{w.signature}</h2>
      {strokes.length > 0 ? (
        <div class="signature">
          <svg viewBox="0 0 1000 400" role="img" aria-label={w.signature}>
            {strokes.map((x, i) => (
              <path key={i} class="stroke" d={strokePath(Array.isArray(x) ? x.map((n) => asNumber(n) ?? 0) : [])} />
            ))}
          </svg>
        </div>
      ) : null}
      <p>{w.signedBy((signed && reply.people[signed.author]) ?? name, showDateTime(at))}</p>
      {keys ? <p class="small">{w.keyed(w.signature, w.keys[keys.signature] ?? "")}</p> : null}
      {keys && reply.status === "approved" ? (
        <p class="small">{w.keyed(w.approval, w.keys[keys.approval] ?? "")}</p>
      ) : null}
    </>
  );
}

function Said({ visit, people }: { visit: RecordState; people: { [id: string]: string } }) {
  const said = (name: string, field: string) =>
    many(visit, name).map(([id, v]) => {
      const head = visit.fields[`${name}.${id}`]?.heads[0];
      return (
        <p key={id}>
          {asText(asObject(v)[field])}{" "}
          <span class="small quiet">
            {head ? `${people[head.author] ?? head.author}, ${showDateTime(head.wall)}` : ""}
          </span>
        </p>
      );
    });
  const photos = many(visit, "photo");
  const remarks = said("remark", "text");
  const returned = said("returned", "remark");
  const reopened = said("reopened", "reason");
  const checks = readEach("visit", visit, "check").filter(([, v]) => v.ok !== true);
  return (
    <>
      {checks.map(([id, v]) => (
        <p key={id} class="complaint">
          {w.differs}: {v.note}
        </p>
      ))}
      {returned.length > 0 ? (
        <>
          <h2>{w.returned}</h2>
          {returned}
        </>
      ) : null}
      {reopened.length > 0 ? (
        <>
          <h2>{w.reopened}</h2>
          {reopened}
        </>
      ) : null}
      {remarks.length > 0 ? (
        <>
          <h2>{w.remarks}</h2>
          {remarks}
        </>
      ) : null}
      {photos.length > 0 ? (
        <>
          <h2>{w.photos}</h2>
          <ul class="office-photos">
            {photos.map(([id, v], i) => (
              <Photo key={id} photo={v} n={i + 1} />
            ))}
          </ul>
        </>
      ) : null}
    </>
  );
}

/**
 * OfficeVisit shows a whole visit, with everything that was typed, and takes the office's decision.
 */
export function OfficeVisit({ id }: { id: string }) {
  const path = `/api/office/visits/${encodeURIComponent(id)}`;
  const asked = useAsk<VisitReply>(path);
  const reply = asked.reply;
  const signed = reply?.status === "signed";
  const administrator = useLink().user?.role === "administrator";
  const [erasing, setErasing] = useState(false);
  useEffect(() => {
    if (signed) send(`${path}/seen`, {}).catch((e: unknown) => console.warn(e));
  }, [path, signed]);
  if (!reply) return <Waiting asked={asked} />;
  const item = readField("visit", reply.visit, "item");
  return (
    <>
      <Onward id={id} />
      <h1>
        {item.tag || officeWords.day.unnamed} <span class="quiet">{item.description}</span>
      </h1>
      <p>
        {officeWords.status[reply.status] ?? reply.status}
        {value(reply.visit, "started") === undefined ? null : (
          <span class="quiet">{` · ${showDate(text(reply.visit, "started"))}`}</span>
        )}
      </p>
      <Fresh path={path} record={id} asked={asked} />
      {reply.attention.length > 0 ? (
        <div class="caution" key="eye">
          <strong>{w.eye}</strong>
          <Attention codes={reply.attention} changed={reply.changed} />
        </div>
      ) : (
        <p class="quiet">{w.nothing}</p>
      )}
      <Waiting asked={asked} />
      <div class="office-visit" key="visit">
        <div>
          <Said visit={reply.visit} people={reply.people} />
          {reply.runs.map((r) => (
            <RunSheet key={r.id} visit={reply.visit} run={r} people={reply.people} />
          ))}
        </div>
        <aside>
          <Decide asked={asked} />
          <Sides reply={reply} />
          <Signature reply={reply} />
          {administrator ? (
            <details class="opened" onToggle={(e) => setErasing(e.currentTarget.open)}>
              <summary>{w.erase}</summary>
              {erasing ? (
                <Later
                  load={loadErase}
                  props={{ path: `/api/office/visits/${encodeURIComponent(id)}`, onErased: asked.again }}
                />
              ) : null}
            </details>
          ) : null}
        </aside>
      </div>
      <h2>{officeWords.history.title}</h2>
      <HistoryList history={reply.history} />
    </>
  );
}
