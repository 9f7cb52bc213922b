import { say } from "./language";

/** The texts of a log-in's second step, in English; they come with it. */
export const enteringWords = say("entering", {
  second: "Your account has a second factor. Type the code that your device shows now, or one of your recovery codes.",
  key: "Your account asks for a passkey. Without it, type one of your recovery codes.",
  passkey: "Use a passkey",
  code: "Code",
  recovery: "Recovery code",
  invited: "Welcome. Choose a password that only you know.",
  new: "Your password, at least 10 characters",
  again: "Repeat the password",
  differ: "The two passwords differ.",
  hint: "Several unrelated words make a good password.",
  go: "Log in",
  wrong: "This code is wrong or has run out. Check the clock of the device that shows it.",
  many: "Too many attempts. Wait a little.",
});
