import { useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Field } from "../../parts/field";
import { Pick } from "../../parts/pick";
import type { CertificateLanguage } from "../../records/office";
import { useKind } from "../../store/hooks";
import { type RecordState, text } from "../../wire/records";
import { officeWords } from "../../words/office";
import { Complaint, put, useKeep } from "../../nav/keep";

const w = officeWords.laboratory;

function OneSite({ site, fixed }: { site: RecordState; fixed: boolean }) {
  const [customer, setCustomer] = useState(text(site, "customer"));
  const had = text(site, "language") as CertificateLanguage | "";
  const [language, setLanguage] = useState(had);
  const [kept, setKept] = useState(false);
  const k = useKeep();
  const name = text(site, "name");
  const go = () =>
    k.keep(async () => {
      await put(site, { customer: customer.trim(), language });
      setKept(true);
    });
  return (
    <>
      <Field label={w.siteCustomer(name)} value={customer} onInput={setCustomer} lines={3} disabled={fixed} />
      <Pick
        label={w.siteLanguage(name)}
        value={language}
        options={[["", w.asLaboratory], ...w.languages]}
        onChange={setLanguage}
        disabled={fixed}
      />
      <Complaint error={k.error} />
      <Button
        disabled={fixed || k.busy || (customer.trim() === text(site, "customer") && language === had)}
        onClick={go}
        label={w.keepCustomer(name)}
      >
        {w.save}
      </Button>
      <span role="status"> {kept ? w.saved : ""}</span>
    </>
  );
}

/** SiteCustomers keeps the owner of a site's instruments, if that is not the usual customer. */
export function SiteCustomers({ fixed }: { fixed: boolean }) {
  const sites = useKind("site");
  if (!sites || sites.length === 0) return null;
  return (
    <>
      <h2>{w.sites}</h2>
      {[...sites]
        .sort((a, b) => text(a, "name").localeCompare(text(b, "name")))
        .map((s) => (
          <OneSite key={s.id} site={s} fixed={fixed} />
        ))}
    </>
  );
}
