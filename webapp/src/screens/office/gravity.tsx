import { useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Field } from "../../parts/field";
import { useKind } from "../../store/hooks";
import { type RecordState, text } from "../../wire/records";
import { officeWords } from "../../words/office";
import { showDecimal } from "../../words/words";
import { gravityFields, readGravity, typedOf } from "../../records/gravity";
import { Complaint, put, useKeep } from "../../nav/keep";

const w = officeWords.gravity;

function OneSite({ site, fixed }: { site: RecordState; fixed: boolean }) {
  const [typed, setTyped] = useState(typedOf(site));
  const [wrong, setWrong] = useState<{ field: string; low: number; high: number } | undefined>();
  const [kept, setKept] = useState(false);
  const k = useKeep();
  const go = () => {
    setKept(false);
    const read = readGravity(typed);
    setWrong("field" in read ? read : undefined);
    if ("field" in read) return;
    k.keep(async () => {
      const was = typedOf(site);
      const changed = Object.fromEntries(Object.entries(read.values).filter(([field, v]) => was[field] !== v));
      if (Object.keys(changed).length > 0) await put(site, changed);
      setKept(true);
    });
  };
  return (
    <section aria-label={text(site, "name")}>
      <h3>{text(site, "name")}</h3>
      <div class="columns">
        {gravityFields.map(({ field }) => (
          <Field
            key={field}
            label={w[field]}
            unit={w.units[field]}
            value={typed[field] ?? ""}
            disabled={fixed}
            onInput={(v) => setTyped({ ...typed, [field]: v })}
            {...(wrong?.field === field
              ? { error: w.between(w[field], showDecimal(wrong.low), showDecimal(wrong.high)) }
              : {})}
          />
        ))}
      </div>
      <Complaint error={k.error} />
      <Button disabled={fixed || k.busy} onClick={go} label={w.keep(text(site, "name"))}>
        {officeWords.laboratory.save}
      </Button>
      <span role="status"> {kept ? officeWords.laboratory.saved : ""}</span>
    </section>
  );
}

/**
 * SiteGravity keeps what each site states about its gravity, which the calculations of columns use.
 */
export function SiteGravity({ fixed }: { fixed: boolean }) {
  const sites = useKind("site");
  if (!sites || sites.length === 0) return null;
  return (
    <>
      <h2>{w.title}</h2>
      <p class="quiet">{w.hint}</p>
      {[...sites]
        .sort((a, b) => text(a, "name").localeCompare(text(b, "name")))
        .map((s) => (
          <OneSite key={s.id} site={s} fixed={fixed} />
        ))}
    </>
  );
}
