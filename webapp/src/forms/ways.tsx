import { useEffect, useState } from "preact/hooks";
import { link } from "../link/link";
import { Complaint, saying, useDoing } from "../nav/asking";
import { Button } from "../parts/button";
import { waysWords as w } from "../words/ways";
import { canPasskeys, codeOf, enterByPasskey } from "./passkey";

type Here = { passkeys: boolean; openid: boolean };

/** explain says why logging in with a passkey failed. */
export function explain(e: unknown): string {
  return w.refused[codeOf(e)] ?? saying(e);
}

/**
 * back is the provider's reason for refusing, from the address that the office led back to; "" for
 * none.
 */
function back(): string {
  const [, word] = /^#openid=([a-z]+)$/.exec(location.hash) ?? [];
  return word === undefined ? "" : (w.outside[word] ?? w.outside["token"] ?? "");
}

/** Ways shows the office's ways to log in besides a name and a password. */
export function Ways() {
  const [here, setHere] = useState<Here>({ passkeys: false, openid: false });
  const [why] = useState(back);
  const d = useDoing();
  useEffect(() => {
    if (why !== "") history.replaceState(history.state, "", location.pathname);
    link.guest("/api/ways").then(
      (reply) => setHere(reply as Here),
      () => undefined, // without a connection there is no log-in either
    );
  }, []);
  const outside = () =>
    d.run(async () => {
      await link.guest("/api/ways"); // a log-out that waited for a connection must not end a later log-in
      location.assign("/api/openid/begin");
    });
  return (
    <>
      {here.passkeys && canPasskeys() ? (
        <Button wide disabled={d.busy} onClick={() => d.run(() => enterByPasskey({}), explain)}>
          {w.passkey}
        </Button>
      ) : null}
      {here.openid ? (
        <Button wide disabled={d.busy} onClick={outside}>
          {w.provider}
        </Button>
      ) : null}
      <Complaint error={d.error ?? (why === "" ? undefined : why)} />
    </>
  );
}
