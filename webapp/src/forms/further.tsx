import { useState } from "preact/hooks";
import { LinkError, link } from "../link/link";
import { saying } from "../nav/asking";
import { Button } from "../parts/button";
import { Field } from "../parts/field";
import { enteringWords as w } from "../words/entering";
import { canPasskeys, enterByPasskey } from "./passkey";
import { explain } from "./ways";

function said(e: unknown): string {
  if (!(e instanceof LinkError)) return saying(e);
  if (e.status === 429) return w.many;
  return e.problem === "login" ? w.wrong : saying(e);
}

type Props = { name: string; password: string; kind: string; ways: string };

/**
 * Further asks for more when a correct name and password are not enough: the second factor, in one
 * of the ways that the office offers, or a new password after an invitation.
 */
export function Further({ name, password, kind, ways }: Props) {
  const [step, setStep] = useState(kind);
  const [open, setOpen] = useState(ways.split(" "));
  const [own, setOwn] = useState("");
  const [same, setSame] = useState("");
  const [code, setCode] = useState("");
  const [error, setError] = useState<string | undefined>();
  const [busy, setBusy] = useState(false);
  const choosing = step === "invited";
  // Once the password is chosen, the invitation code no longer works.
  const chosen = kind === "invited" && !choosing ? own : password;
  const passkey = () => {
    setBusy(true);
    setError(undefined);
    enterByPasskey({ name: name.trim(), password: chosen })
      .catch((why: unknown) => setError(explain(why)))
      .finally(() => setBusy(false));
  };
  const go = (e: Event) => {
    e.preventDefault();
    if (choosing && own !== same) {
      setError(w.differ);
      return;
    }
    setBusy(true);
    setError(undefined);
    link
      .login(name.trim(), chosen, choosing ? { new: own } : { code })
      .catch((why: unknown) => {
        if (why instanceof LinkError && why.code === "second" && choosing) {
          setStep("second");
          setOpen(why.field.split(" "));
        } else setError(said(why));
      })
      .finally(() => setBusy(false));
  };
  return (
    <form onSubmit={go}>
      <p>{choosing ? w.invited : open.includes("code") ? w.second : w.key}</p>
      {!choosing && open.includes("passkey") && canPasskeys() ? (
        <Button wide disabled={busy} onClick={passkey}>
          {w.passkey}
        </Button>
      ) : null}
      {choosing ? (
        <>
          <Field
            label={w.new}
            value={own}
            onInput={setOwn}
            type="password"
            autocomplete="new-password"
            hint={w.hint}
            required
          />
          <Field label={w.again} value={same} onInput={setSame} type="password" autocomplete="new-password" required />
        </>
      ) : (
        <Field
          label={open.includes("code") ? w.code : w.recovery}
          value={code}
          onInput={setCode}
          autocomplete="one-time-code"
          required
        />
      )}
      {error ? <p role="alert">{error}</p> : null}
      <Button kind="main" type="submit" size="tall" wide disabled={busy}>
        {w.go}
      </Button>
    </form>
  );
}
