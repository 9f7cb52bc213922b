import { PhotoButton } from "./photo-button";
import { shapes } from "../../wire/records.gen";
import { readField, read } from "../../wire/read";
import { useEffect, useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Field } from "../../parts/field";
import { Later } from "../../parts/later";
import { useLive, useRecord } from "../../store/hooks";
import { blob } from "../../store/store";
import { asObject, type Json, many, newId, type RecordState, text } from "../../wire/records";
import { visitWords } from "../../words/visit";
import { showAge } from "../../words/words";
import { stopsNow } from "../../records/stops";
import { useDraft } from "./draft";
import { Complaint, put, useKeep } from "../../nav/keep";
import { loadStandard } from "./later";
import { loadIdentity } from "./later-stops";
import { BeforeSigning } from "./closing-off";
import { loadFacts } from "../../views/later";
import { keepPhoto } from "./photo";
import type { OnManifold } from "./manifold";
import { Order } from "./order";
import { Result } from "./result";
import { notTested } from "../../records/halts";
import { isApproved, returnedSince, speaking } from "../../records/run";
import { useCourse } from "../../views/steps";
import { Surroundings } from "./surroundings";
import type { Typed } from "./typed";

const w = visitWords.finish;
const loadAmend = () => import("./asked").then((m) => m.Amend);
const loadSign = () => import("./asked").then((m) => m.Sign);
const Choose = ({ visit }: { visit: RecordState }) => <Later load={loadStandard} props={{ visit }} />;
const Compare = ({ visit }: { visit: RecordState }) => <Later key="identity" load={loadIdentity} props={{ visit }} />;
/** The pad; its code comes with that of a run. */
const loadTyped = () => import("./runner").then((m) => m.Typed);
const Pad: typeof Typed = (props) => <Later load={loadTyped} props={props} />;
const lent = { Typed: Pad, useCourse, identity: Compare, standard: Choose, surroundings: Surroundings };

/**
 * Photo is a stored picture with its caption. The caption is the visit's own field and may be
 * corrected until the visit is signed.
 */
function Photo({
  visit,
  id,
  photo,
  onOpen,
}: {
  visit: RecordState;
  id: string;
  photo: { [name: string]: Json };
  onOpen: (open: boolean) => void;
}) {
  const { caption: kept, sha256 } = read(shapes.visit.photo, photo);
  const [caption, setCaption, forget] = useDraft(`${visit.id} photo.${id}`, kept);
  const [source, setSource] = useState<string | undefined>();
  const k = useKeep();
  const open = caption.trim() !== kept;
  useEffect(() => onOpen(open), [open]);
  useEffect(() => {
    let url = "";
    let here = true;
    blob(sha256).then(
      (b) => {
        if (!b || !here) return;
        url = URL.createObjectURL(b);
        setSource(url);
      },
      (e: unknown) => console.error(e),
    );
    return () => {
      here = false;
      if (url !== "") URL.revokeObjectURL(url);
    };
  }, [sha256]);
  const keep = () =>
    k.keep(async () => {
      await put(visit, { [`photo.${id}`]: { ...photo, caption: caption.trim() } });
      forget();
    });
  return (
    <li>
      {source ? <img src={source} alt={w.picture(kept)} /> : null}
      <Field label={w.caption} value={caption} onInput={setCaption} />
      <Complaint error={k.error} />
      {open ? (
        <Button size="tall" disabled={k.busy} onClick={keep}>
          {w.keepCaption}
        </Button>
      ) : null}
    </li>
  );
}

/** Finish takes remarks, photos and the signature. */
export function Finish({
  visit,
  runs,
  onRepeat,
}: {
  visit: RecordState;
  runs: RecordState[];
  onRepeat: (() => void) | undefined;
}) {
  const [signing, setSigning] = useState(false);
  const [remark, setRemark] = useDraft(`${visit.id} remark`);
  const [captions, setCaptions] = useState<string[]>([]); // photos whose caption is typed and not saved
  const [working, setWorking] = useState(false);
  const [open, setOpen] = useState<string | undefined>(); // the answers still needed after a failure or on a bypass
  const k = useKeep();
  const returned = returnedSince(visit);
  const speak = speaking(visit, runs);
  const untested = notTested(visit);
  const damaged = readField("visit", visit, "condition").state === "damaged";
  if (signing) return <Later key="sign" load={loadSign} props={{ visit, runs, onBack: () => setSigning(false) }} />;
  const photo = (file: File | undefined) => {
    if (!file) return;
    setWorking(true);
    k.keep(async () => {
      try {
        if (!(await keepPhoto(visit, file))) k.say(w.photoFails);
      } finally {
        setWorking(false);
      }
    });
  };
  const keepRemark = () =>
    k.keep(async () => {
      await put(visit, { [`remark.${newId()}`]: { text: remark.trim() } });
      setRemark("");
    });
  const photos = many(visit, "photo");
  const sign = () =>
    open
      ? k.say(open)
      : remark.trim()
        ? k.say(w.unsent)
        : captions.length > 0
          ? k.say(w.unsentCaption)
          : setSigning(true);
  return (
    <>
      <h1>{w.title}</h1>
      {returned.length > 0 ? (
        <div class="complaint" role="status">
          <p>{w.returned}</p>
          {returned.map((r) => (
            <p key={r}>{r}</p>
          ))}
        </div>
      ) : null}
      {untested === "" ? null : (
        <p class="complaint" role="status">
          {w.untested(untested)}
        </p>
      )}
      <BeforeSigning visit={visit} runs={runs} onOpen={setOpen} />
      {speak.found ? <Result visit={visit} run={speak.found} /> : null}
      {speak.left ? <Result visit={visit} run={speak.left} /> : null}
      {returned.length > 0 ? <Later key="amend" load={loadAmend} props={{ visit, runs, lent }} /> : null}
      {many(visit, "remark").map(([id, v]) => (
        <p key={id}>{read(shapes.visit.remark, v).text}</p>
      ))}
      <Order visit={visit} />
      <Field label={w.remark} value={remark} onInput={setRemark} lines={3} />
      {remark.trim() ? (
        <Button size="tall" disabled={k.busy} onClick={keepRemark}>
          {w.add}
        </Button>
      ) : null}
      <div class="buttons">
        <PhotoButton label={w.photo} disabled={working} onFile={photo} />
      </div>
      <p role="status">{working ? w.working : ""}</p>
      {photos.length > 0 ? <p>{`${w.photoKept}: ${photos.length}`}</p> : null}
      <ul class="photos">
        {photos.map(([id, v]) => (
          <Photo
            key={id}
            visit={visit}
            id={id}
            photo={asObject(v)}
            onOpen={(open) => setCaptions((old) => [...old.filter((x) => x !== id), ...(open ? [id] : [])])}
          />
        ))}
      </ul>
      <Complaint error={k.error} />
      <Button kind="main" size="tall" wide disabled={k.busy || open === undefined} onClick={sign}>
        {w.sign}
      </Button>
      <div class="visit-foot">
        {onRepeat && untested === "" ? <Button onClick={onRepeat}>{w.repeat}</Button> : null}
        {untested !== "" && !damaged ? (
          <Button disabled={k.busy} onClick={() => k.keep(() => put(visit, { not_tested: {} }))}>
            {w.afterAll}
          </Button>
        ) : null}
      </div>
    </>
  );
}

/** Done shows the signed result and leads to the next stop of the round. */
export function Done({ visit, runs, on }: { visit: RecordState; runs: RecordState[]; on: OnManifold | undefined }) {
  const d = visitWords.done;
  const round = useRecord(text(visit, "round"));
  const stops = useLive(
    async () => (round ? await stopsNow(round) : []),
    (n) => n.kinds.includes("visit"),
    [round],
  );
  const next = stops?.find((s) => s.state !== "done");
  const tag = text(useRecord(next?.instrument ?? "") ?? undefined, "tag");
  const speak = speaking(visit, runs);
  const at = Date.parse(readField("visit", visit, "signature").at);
  return (
    <>
      <h1>{d.title}</h1>
      <p>
        {readField("visit", visit, "signature").name}{" "}
        <span class="quiet">{Number.isNaN(at) ? "" : showAge(at, Date.now())}</span>
      </p>
      {notTested(visit) === "" ? null : <p class="complaint">{w.untested(notTested(visit))}</p>}
      {isApproved(visit) ? <p>{d.approved}</p> : null}
      {on?.next ? <on.own.NextGauge on={on} /> : null}
      <Later key="facts" load={loadFacts} props={{ visit }} />
      {runs.some((r) => r.kind === "certificate") ? (
        <Later key="amend" load={loadAmend} props={{ visit, runs }} />
      ) : null}
      {next ? (
        <a class="visit-next" href={`/instrument/${next.instrument}`}>
          {d.next(tag || next.instrument)}
        </a>
      ) : round ? (
        <p class="quiet">{d.none}</p>
      ) : null}
      {speak.found ? <Result visit={visit} run={speak.found} /> : null}
      {speak.left ? <Result visit={visit} run={speak.left} /> : null}
      <div class="visit-foot">
        <a class="visit-next" href="/round">
          {d.round}
        </a>
        <a class="visit-next" href={`/instrument/${text(visit, "instrument")}`}>
          {d.instrument}
        </a>
      </div>
    </>
  );
}
