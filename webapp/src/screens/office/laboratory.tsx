import { useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Field } from "../../parts/field";
import { useLink } from "../../nav/status";
import { officeWords } from "../../words/office";
import { Complaint, send, useAsk, useDoing, Waiting } from "../../nav/asking";
import { SiteGravity } from "./gravity";
import { type Letterhead, lines } from "../../records/office";

const w = officeWords.laboratory;

function Edit({ known, fixed }: { known: Letterhead; fixed: boolean }) {
  const [name, setName] = useState(known.name);
  const [address, setAddress] = useState(known.address.join("\n"));
  const [customer, setCustomer] = useState(known.customer.join("\n"));
  const [country, setCountry] = useState(known.country);
  const [saved, setSaved] = useState(false);
  const d = useDoing();
  const go = () =>
    d.run(async () => {
      setSaved(false);
      await send(
        "/api/office/letterhead",
        { name: name.trim(), address: lines(address), customer: lines(customer), country: country.trim() },
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
      <Complaint error={d.error} />
      <Button kind="main" disabled={fixed || d.busy} onClick={go}>
        {w.save}
      </Button>
      <p role="status">{saved ? w.saved : ""}</p>
    </>
  );
}

/** LaboratoryScreen keeps what certificates state of the laboratory and its customer. */
export function LaboratoryScreen() {
  const user = useLink().user;
  const asked = useAsk<Letterhead>("/api/office/letterhead");
  return (
    <div class="office-form">
      <h1>{w.title}</h1>
      <p class="quiet">{w.hint}</p>
      <Waiting asked={asked} />
      {asked.reply ? <Edit known={asked.reply} fixed={user?.role !== "administrator"} /> : null}
      <SiteGravity fixed={user?.role !== "administrator"} />
    </div>
  );
}
