// The ways to log in besides a name and a password, in a real browser: a passkey in the browser's
// own virtual authenticator, and a log-in through a provider on another site.
import assert from "node:assert/strict";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { logIn, Plant, phone } from "./plant.mjs";
import { asPerson } from "./pocket.mjs";
import { Provider } from "./provider.mjs";

const profile = mkdtempSync(join(tmpdir(), "gaugewright-e2e-signin-"));
const faults = [];
let provider;
let plant;
let context;
let page;
let person;
let office;

before(async () => {
  provider = new Provider();
  await provider.start();
  process.env.GAUGEWRIGHT_OPENID_ISSUER = provider.url;
  process.env.GAUGEWRIGHT_OPENID_CLIENT = provider.client;
  plant = await Plant.make();
  person = plant.someone("technician");
  office = await asPerson(plant, plant.someone("administrator"));
  context = await phone(profile);
  page = await context.newPage();
  page.setDefaultTimeout(30000);
  page.on("pageerror", (e) => faults.push(e.message));
  page.on("console", (m) => {
    if (/Content Security Policy|TrustedHTML|trusted/i.test(m.text())) faults.push(m.text());
  });
});

after(async () => {
  await context?.close();
  await plant?.remove();
  await provider?.stop();
  rmSync(profile, { recursive: true, force: true });
});

/** account opens the person's own account page. */
async function account() {
  await page.goto(`${plant.url}/device`);
  await page.getByRole("button", { name: "Password, second factor, log-ins" }).click();
  await page.getByRole("heading", { name: "Passkeys" }).waitFor();
}

async function leave() {
  await page.goto(`${plant.url}/device`);
  await page.getByRole("button", { name: "Log out", exact: true }).click();
  await page.getByLabel("Password").waitFor();
}

/** kinds are the newest entries of the event log. */
const kinds = async (n) => (await office("/api/events")).events.slice(0, n).map((e) => e.kind);

test("a passkey is added, logs in alone and after the password, and is removed", async () => {
  const cdp = await context.newCDPSession(page);
  await cdp.send("WebAuthn.enable");
  const { authenticatorId } = await cdp.send("WebAuthn.addVirtualAuthenticator", {
    options: {
      protocol: "ctap2",
      transport: "internal",
      hasResidentKey: true,
      hasUserVerification: true,
      isUserVerified: true,
      automaticPresenceSimulation: true,
    },
  });
  await logIn(page, plant, person);
  await account();
  await page.getByLabel("Name of the passkey").fill("this phone");
  await page.getByLabel("Your password now").last().fill(person.password);
  await page.getByRole("button", { name: "Add a passkey" }).click();
  await page.getByText("Write these codes down").waitFor();
  await page.getByRole("button", { name: "I have them" }).click();
  await page.getByText("not used yet").waitFor();
  assert.equal((await cdp.send("WebAuthn.getCredentials", { authenticatorId })).credentials.length, 1);

  // There is no second one on the same device.
  await page.getByLabel("Name of the passkey").fill("again");
  await page.getByLabel("Your password now").last().fill(person.password);
  await page.getByRole("button", { name: "Add a passkey" }).click();
  await page.getByText("This device has a passkey of your account already.").waitFor();

  await leave();
  await page.getByRole("button", { name: "Log in with a passkey" }).click();
  await page.getByRole("navigation").waitFor();
  await page.goto(`${plant.url}/device`);
  await page.getByText(`Log-in name: ${person.name}`).waitFor();
  assert.equal((await kinds(1))[0], "login");

  await leave();
  await page.getByLabel("Name").fill(person.name);
  await page.getByLabel("Password").fill(person.password);
  await page.keyboard.press("Enter");
  await page.getByLabel("Recovery code").waitFor();
  await page.getByRole("button", { name: "Use a passkey" }).click();
  await page.getByRole("navigation").waitFor();

  await account();
  await page.getByText(/^used /).first().waitFor();
  await page.getByRole("button", { name: "Remove: this phone" }).click();
  await page.getByText("It opens nothing here any more").waitFor();
  await page.getByLabel("Your password now").nth(-2).fill(person.password);
  await page.getByRole("button", { name: "Remove it now: this phone" }).click();
  await page.getByRole("button", { name: "Remove it now: this phone" }).waitFor({ state: "detached" });
  assert.equal((await kinds(1))[0], "passkey_removed");

  await leave();
  await page.getByRole("button", { name: "Log in with a passkey" }).click();
  await page.getByText("This passkey is not known here.").waitFor();
  await cdp.send("WebAuthn.removeVirtualAuthenticator", { authenticatorId });
});

test("only people whom the office expects can log in through the provider", async () => {
  const outside = async () => {
    await page.getByRole("button", { name: "Log in with your organization's account" }).click();
    await page.getByRole("link", { name: "go on" }).click();
  };
  await page.goto(plant.url);
  await outside();
  await page.getByText("No account here expects you.").waitFor();
  await page.waitForURL((url) => url.hash === ""); // what was said there is said once

  const { id } = (await office("/api/users")).users.find((u) => u.name === person.name);
  await office(`/api/users/${id}/openid`, "PUT", { name: "somebody" });
  await outside();
  await page.getByRole("navigation").waitFor();
  assert.deepEqual(await kinds(2), ["login", "openid_linked"]);
  await page.reload();
  await page.getByRole("navigation").waitFor();

  // The subject counts, not its name; the work continues without a connection.
  provider.person = { sub: "s-1", preferred_username: "called otherwise" };
  await context.setOffline(true);
  await page.reload();
  await page.getByRole("navigation").waitFor();
  await page.goto(`${plant.url}/device`);
  await page.getByRole("button", { name: "Log out", exact: true }).click();
  await page.getByLabel("Password").waitFor();
  await context.setOffline(false);
  await page.reload();
  await outside();
  await page.getByRole("navigation").waitFor();
  await page.reload();
  await page.getByRole("navigation").waitFor();

  await office(`/api/users/${id}/revoke`, "POST", {});
  // The page may have learnt it, and have logged out, before it is told to.
  await page.goto(`${plant.url}/device`);
  const out = page.getByRole("button", { name: "Log out", exact: true });
  await out.or(page.getByLabel("Password")).first().waitFor();
  if (await out.isVisible()) await out.click({ timeout: 3000 }).catch(() => undefined);
  await page.getByLabel("Password").waitFor();
  await outside();
  await page.getByText("Your access has ended. Ask the office.").waitFor();
});

test("nothing broke, and no policy of the page was violated", () => {
  assert.deepEqual(faults, []);
});
