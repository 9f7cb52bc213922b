import { say } from "./language";

/** The texts of the office's screen about people, in English; they come with it. */
export const peopleWords = say("people", {
  title: "People",
  name: "Log-in name",
  full: "Full name",
  fullHint: "Stands on certificates and under signatures.",
  function: "Function",
  functionHint: "What the person is in the laboratory, such as technical manager. Empty: the role.",
  erase: "Erase name and function",
  keepPerson: "Keep name and function",
  personKept: "Kept, for certificates from now on.",
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
  newHint: "Each name is given once. Nobody but the person knows the password that they choose.",
  exists: "Name: somebody has it already.",
  alter: "Change",
  keepRole: "Keep the role",
  invite: "Give a new code",
  inviteHint: "For a lost password or code. The old password and all log-ins end.",
  altered: (name: string) => `Kept. Every device of ${name} has to log in again.`,
  logins: (n: number) =>
    n === 0 ? "Logged in nowhere." : n === 1 ? "Logged in on 1 device." : `Logged in on ${n} devices.`,
  endLogins: "End these log-ins",
  second: "has a second factor",
  invited: "invited",
  endSecond: "Take the second factor away",
  endSecondHint: "For a device that was lost: its codes, all passkeys and recovery codes end. Be sure who asks for it.",
  secondEnded: (name: string) => `${name} logs in with the password alone now.`,
  linked: "comes by the organization's log-in",
  provider: "Name at the organization's log-in",
  providerHint:
    "Under this name the person logs in by the organization's log-in, for the first time within seven days.",
  providerAs: (name: string, linked: boolean) =>
    linked
      ? `Logs in by the organization's log-in, as ${name}.`
      : `Is expected by the organization's log-in, as ${name}.`,
  providerKeep: "Let them come that way",
  providerEnd: "Take that way away",
  last: "This is the only administrator. Name another one first.",
  revoke: "End access",
  sure: (name: string) =>
    `End the access of ${name}? Devices are logged out at once; what they still send is set aside.`,
  revokeNow: "End it now",
  keep: "Leave as it is",
  revoked: "ended",
  you: "you",
});
