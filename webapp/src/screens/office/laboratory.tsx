import { useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Field } from "../../parts/field";
import { Pick } from "../../parts/pick";
import { useLink } from "../../nav/status";
import { officeWords } from "../../words/office";
import { Complaint, send, useAsk, useDoing, Waiting } from "../../nav/asking";
import { SiteCustomers } from "./customers";
import { SiteGravity } from "./gravity";
import { type Letterhead, lines } from "../../records/office";

const w = officeWords.laboratory;

function Edit({ known, fixed }: { known: Letterhead; fixed: boolean }) {
  const [name, setName] = useState(known.name);
  const [address, setAddress] = useState(known.address.join("\n"));
  const [customer, setCustomer] = useState(known.customer.join("\n"));
  const [country, setCountry] = useState(known.country);
  const [paper, setPaper] = useState(known.paper);
  const [language, setLanguage] = useState(known.language);
  const [mark, setMark] = useState(known.accreditation ?? { text: "", number: "", scope: "" });
  const [saved, setSaved] = useState(false);
  const d = useDoing();
  const go = () =>
    d.run(async () => {
      setSaved(false);
      await send(
        "/api/office/letterhead",
        {
          name: name.trim(),
          address: lines(address),
          customer: lines(customer),
          country: country.trim(),
          paper,
          language,
          accreditation: Object.values(mark).every((v) => v.trim() === "") ? null : mark,
        },
        "PUT",
      );
      setSaved(true);
    });
  return (
    <>
      {fixed ? <p class="quiet">{officeWords.adminOnly}</p> : null}
      <Field label={w.name} value={name} onInput={setName} disabled={fixed} />
      <Field label={w.address} value={address} onInput={setAddress} lines={4} disabled={fixed} />
      <Field label={w.customer} value={customer} onInput={setCustomer} lines={4} disabled={fixed} />
      <Field label={w.country} value={country} onInput={setCountry} disabled={fixed} />
      <Pick
        label={w.paper}
        value={paper}
        options={[
          ["A4", w.papers.A4],
          ["letter", w.papers.letter],
        ]}
        onChange={setPaper}
        disabled={fixed}
      />
      <Pick label={w.language} value={language} options={w.languages} onChange={setLanguage} disabled={fixed} />
      <fieldset>
        <legend>{w.accreditation}</legend>
        <p class="quiet">{w.accreditationHint}</p>
        <Field
          label={w.accreditationText}
          value={mark.text}
          onInput={(text) => setMark({ ...mark, text })}
          disabled={fixed}
        />
        <Field
          label={w.accreditationNumber}
          value={mark.number}
          onInput={(number) => setMark({ ...mark, number })}
          disabled={fixed}
        />
        <Field
          label={w.accreditationScope}
          value={mark.scope}
          onInput={(scope) => setMark({ ...mark, scope })}
          disabled={fixed}
        />
      </fieldset>
      <Complaint error={d.error} />
      <Button kind="main" disabled={fixed || d.busy} onClick={go}>
        {w.save}
      </Button>
      <p role="status">{saved ? w.saved : ""}</p>
    </>
  );
}

/** LaboratoryScreen keeps what certificates state about the laboratory and its customer. */
export function LaboratoryScreen() {
  const user = useLink().user;
  const asked = useAsk<Letterhead>("/api/office/letterhead");
  return (
    <div class="office-form">
      <h1>{w.title}</h1>
      <p class="quiet">{w.hint}</p>
      <Waiting asked={asked} />
      {asked.reply ? <Edit known={asked.reply} fixed={user?.role !== "administrator"} /> : null}
      <SiteCustomers fixed={user?.role !== "administrator"} />
      <SiteGravity fixed={user?.role !== "administrator"} />
    </div>
  );
}
