import { useState } from "preact/hooks";
import { LinkError, link } from "../../link/link";
import { Button } from "../../parts/button";
import { Field } from "../../parts/field";
import { words } from "../../words/words";

function said(e: unknown): string {
  if (!(e instanceof LinkError)) return words.sync.storage;
  if (e.status === 429) return words.login.many;
  switch (e.problem) {
    case "login":
      return words.login.wrong;
    case "offline":
      return words.login.offline;
    case "portal":
      return words.login.other;
    case "server":
      return e.status >= 400 && e.status < 500 ? words.login.wrong : words.sync.server;
    case "storage":
      return words.sync.storage;
    default: {
      const never: never = e.problem;
      return never;
    }
  }
}

/** LoginScreen asks who works on this device; only the first time needs a connection. */
export function LoginScreen() {
  return (
    <div class="login">
      <h1>{words.login.title}</h1>
      <LoginForm again="" />
    </div>
  );
}

/** LoginForm logs in; `again` is the name of whoever works here already and whose log-in has ended. */
export function LoginForm({ again }: { again: string }) {
  const [name, setName] = useState(again);
  const [password, setPassword] = useState("");
  const [error, setError] = useState<string | undefined>();
  const [busy, setBusy] = useState(false);
  const go = (e: Event) => {
    e.preventDefault();
    setBusy(true);
    setError(undefined);
    link
      .login(name.trim(), password)
      .catch((why: unknown) => setError(said(why)))
      .finally(() => setBusy(false));
  };
  return (
    <form onSubmit={go}>
      {again === "" ? null : <p>{words.login.again}</p>}
      <Field label={words.login.who} value={name} onInput={setName} autocomplete="username" required />
      <Field label={words.login.password} value={password} onInput={setPassword} type="password" autocomplete="current-password" required />
      {error ? <p role="alert">{error}</p> : null}
      <Button kind="main" type="submit" size="tall" wide disabled={busy}>
        {words.login.go}
      </Button>
    </form>
  );
}
