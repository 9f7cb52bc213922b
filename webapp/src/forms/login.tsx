import { useState } from "preact/hooks";
import { LinkError, link } from "../link/link";
import { Button } from "../parts/button";
import { Field } from "../parts/field";
import { Later } from "../parts/later";
import { words } from "../words/words";

const loadFurther = () => import("./further").then((m) => m.Further);
const loadWays = () => import("./ways").then((m) => m.Ways);

function said(e: unknown): string {
  if (!(e instanceof LinkError)) return words.sync.storage;
  if (e.status === 429) return words.login.many;
  return e.problem === "login" || (e.problem === "server" && e.status < 500)
    ? words.login.wrong
    : words.sync[e.problem];
}

/** LoginScreen asks who works on this device. Only the first log-in needs a connection. */
export function LoginScreen() {
  return (
    <div class="login">
      <h1>{words.login.title}</h1>
      {link.now().problem === "ended" ? <p role="alert">{words.sync.ended}</p> : null}
      <LoginForm again="" />
    </div>
  );
}

/**
 * LoginForm logs in. `again` is the name of the person who already works here and whose log-in has
 * ended.
 */
export function LoginForm({ again }: { again: string }) {
  const [name, setName] = useState(again);
  const [password, setPassword] = useState("");
  const [error, setError] = useState<unknown>();
  const [busy, setBusy] = useState(false);
  const go = (e: Event) => {
    e.preventDefault();
    setBusy(true);
    setError(undefined);
    link
      .login(name.trim(), password)
      .catch(setError)
      .finally(() => setBusy(false));
  };
  const kind = error instanceof LinkError ? error.code : "";
  if (kind === "second" || kind === "invited") {
    const ways = error instanceof LinkError ? error.field : "";
    return <Later load={loadFurther} props={{ name, password, kind, ways }} />;
  }
  return (
    <form onSubmit={go}>
      <Field label={words.login.who} value={name} onInput={setName} autocomplete="username" required />
      <Field
        label={words.login.password}
        value={password}
        onInput={setPassword}
        type="password"
        autocomplete="current-password"
        required
      />
      {error ? <p role="alert">{said(error)}</p> : null}
      <Button kind="main" type="submit" size="tall" wide disabled={busy}>
        {words.login.go}
      </Button>
      <Later quiet load={loadWays} props={{}} />
    </form>
  );
}
