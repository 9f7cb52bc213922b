import { say } from "./language";

/** The texts of the office's screen about people, in English; they come with it. */
export const peopleWords = say("people", {
  title: "People",
  name: "Log-in name",
  full: "Full name",
  fullHint: "Printed on certificates and under signatures.",
  function: "Function",
  functionHint: "What the person is in the laboratory, such as technical manager. Empty: the role.",
  erase: "Erase name and function",
  keepPerson: "Save name and function",
  personKept: "Saved. It applies to certificates from now on.",
  loginName: (name: string) => `log-in name ${name}`,
  role: "Role",
  roles: { technician: "Technician", reviewer: "Reviewer", administrator: "Administrator", hub: "Hub" } as Record<
    string,
    string
  >,
  add: "Invite",
  code: (name: string) =>
    `Hand this code to ${name} in person. Within seven days ${name} logs in with it in place of a password, and chooses one. It is shown this once:`,
  new: "Invite a person",
  newHint: "A name can be used once only. Nobody else learns the password that the person chooses.",
  exists: "Name: it is already in use.",
  alter: "Change",
  keepRole: "Save the role",
  invite: "Give a new code",
  inviteHint: "For a lost password or code. The old password and all log-ins end.",
  altered: (name: string) => `Saved. ${name} has to log in again on every device.`,
  logins: (n: number) =>
    n === 0 ? "Not logged in." : n === 1 ? "Logged in on 1 device." : `Logged in on ${n} devices.`,
  endLogins: "End these log-ins",
  second: "has a second factor",
  invited: "invited",
  endSecond: "Remove the second factor",
  endSecondHint:
    "For a lost device: its codes, all passkeys and all recovery codes stop working. Make sure who is asking.",
  secondEnded: (name: string) => `${name} logs in with the password alone now.`,
  linked: "uses the organization's log-in",
  provider: "Name at the organization's log-in",
  providerHint:
    "Under this name the person logs in by the organization's log-in, for the first time within seven days.",
  providerAs: (name: string, linked: boolean) =>
    linked
      ? `Logs in by the organization's log-in, as ${name}.`
      : `Is expected by the organization's log-in, as ${name}.`,
  providerKeep: "Allow this log-in",
  providerEnd: "Remove this log-in",
  last: "This is the only administrator. Make somebody else administrator first.",
  revoke: "End access",
  sure: (name: string) =>
    `End the access of ${name}? Devices are logged out at once. What they send later is not accepted by itself.`,
  revokeNow: "End it now",
  keep: "Cancel",
  revoked: "ended",
  you: "you",
});
