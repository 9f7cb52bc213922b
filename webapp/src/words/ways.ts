import { say } from "./language";

/** The texts of the ways in besides a name and a password, in English; they come with them. */
export const waysWords = say("ways", {
  passkey: "Log in with a passkey",
  provider: "Log in with your organization's account",
  refused: {
    stopped: "No passkey was used. Try again, or log in with your name and password.",
    passkey: "This passkey was not accepted. Log in with your name and password.",
    passkey_unknown: "This passkey is not known here. It may have been removed.",
    passkey_counter:
      "This passkey was refused, since there may be a copy of it. Log in with a recovery code, remove the passkey and tell the office.",
    passkey_spent: "That took too long. Try again.",
    passkey_invited: "The office has given you a new code. Log in with your name and that code first.",
    passkeys: "This office has no passkeys.",
    not_found: "Your account has no passkey. Use a code.",
    revoked: "Your access has ended. Ask the office.",
    too_many: "Too many attempts. Wait a little.",
  } as Record<string, string>,
  outside: {
    off: "This office has no log-in by an organization's account.",
    reach: "Your organization's log-in cannot be reached now. Log in with your name and password, or try later.",
    spent: "That took too long, or was begun in another browser. Try again.",
    declined: "Your organization's log-in did not let you in.",
    token: "The answer of your organization's log-in does not hold. Tell the office.",
    unverified: "Your organization has not verified your e-mail address. Ask whoever runs its log-in.",
    busy: "Too many log-ins at once. Try again in a moment.",
    stranger: "No account here expects you. Ask the office to enter your organization's name for you.",
    revoked: "Your access has ended. Ask the office.",
    second:
      "Your account has a second factor here, which your organization's log-in does not ask for. Log in with your name and password.",
  } as Record<string, string>,
});
