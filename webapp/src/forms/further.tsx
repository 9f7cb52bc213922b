import { useState } from "preact/hooks";
import { LinkError, link } from "../link/link";
import { saying } from "../nav/asking";
import { Button } from "../parts/button";
import { Field } from "../parts/field";
import { enteringWords as w } from "../words/entering";

function said(e: unknown): string {
  if (!(e instanceof LinkError)) return saying(e);
  if (e.status === 429) return w.many;
  return e.problem === "login" ? w.wrong : saying(e);
}

/**
 * Further asks for what a right name and password do not suffice for: the code of a second factor,
 * or the password of somebody who was invited.
 */
export function Further({ name, password, kind }: { name: string; password: string; kind: string }) {
  const [step, setStep] = useState(kind);
  const [own, setOwn] = useState("");
  const [same, setSame] = useState("");
  const [code, setCode] = useState("");
  const [error, setError] = useState<string | undefined>();
  const [busy, setBusy] = useState(false);
  const choosing = step === "invited";
  const go = (e: Event) => {
    e.preventDefault();
    if (choosing && own !== same) {
      setError(w.differ);
      return;
    }
    setBusy(true);
    setError(undefined);
    // Once the password is chosen, the invitation is no password any more.
    const chosen = kind === "invited" && !choosing ? own : password;
    link
      .login(name.trim(), chosen, choosing ? { new: own } : { code })
      .catch((why: unknown) => {
        if (why instanceof LinkError && why.code === "second" && choosing) setStep("second");
        else setError(said(why));
      })
      .finally(() => setBusy(false));
  };
  return (
    <form onSubmit={go}>
      <p>{choosing ? w.invited : w.second}</p>
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
        <Field label={w.code} value={code} onInput={setCode} autocomplete="one-time-code" required />
      )}
      {error ? <p role="alert">{error}</p> : null}
      <Button kind="main" type="submit" size="tall" wide disabled={busy}>
        {w.go}
      </Button>
    </form>
  );
}
