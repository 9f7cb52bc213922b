import { LinkError, link } from "../link/link";

/** canPasskeys says whether this browser can make passkeys and use them. */
export function canPasskeys(): boolean {
  return (
    typeof PublicKeyCredential === "function" &&
    typeof PublicKeyCredential.parseCreationOptionsFromJSON === "function" &&
    typeof PublicKeyCredential.parseRequestOptionsFromJSON === "function"
  );
}

type Asked = { options: unknown; ceremony: string };

/** Stopped says that the person, or the browser for them, made or used no passkey. */
export class Stopped extends Error {}

async function answered(ask: () => Promise<Credential | null>): Promise<unknown> {
  let made: Credential | null;
  try {
    made = await ask();
  } catch (e) {
    // NotAllowedError: refused, or timed out; InvalidStateError: this device already has one for
    // this account.
    if (e instanceof DOMException) throw new Stopped(e.name);
    throw e;
  }
  if (!(made instanceof PublicKeyCredential)) throw new Stopped();
  return made.toJSON();
}

/** makePasskey lets the browser make a passkey, and gives the part that the office keeps. */
export async function makePasskey(reply: unknown): Promise<{ ceremony: string; answer: unknown }> {
  const { options, ceremony } = reply as Asked;
  const publicKey = PublicKeyCredential.parseCreationOptionsFromJSON(options as PublicKeyCredentialCreationOptionsJSON);
  return { ceremony, answer: await answered(() => navigator.credentials.create({ publicKey })) };
}

/**
 * enterByPasskey logs in with a passkey: alone, or after a name and a password. Refuses: Stopped;
 * LinkError with the office's code.
 */
export async function enterByPasskey(before: { name: string; password: string } | Record<string, never>) {
  const { options, ceremony } = (await link.guest("/api/login/passkey", before)) as Asked;
  const publicKey = PublicKeyCredential.parseRequestOptionsFromJSON(options as PublicKeyCredentialRequestOptionsJSON);
  const answer = await answered(() => navigator.credentials.get({ publicKey }));
  await link.enter("/api/login/passkey/finish", { ceremony, answer });
}

/**
 * codeOf gives the office's code of a refusal, or "stopped" if the person made or used no passkey.
 */
export function codeOf(e: unknown): string {
  return e instanceof Stopped ? "stopped" : e instanceof LinkError ? e.code : "";
}
