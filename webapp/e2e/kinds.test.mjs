// A plant that begins empty: its office writes methods of several kinds of work with their forms
// and enters its instruments, and a technician works with them.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { author } from "./author.mjs";
import { logIn, Plant } from "./plant.mjs";
import { Pocket, snap, sound } from "./pocket.mjs";
import { prepare } from "./visit.mjs";
import { walk } from "./walk.mjs";

const technician = { name: "nela", password: "another long password", role: "technician" };
const ids = {};
let plant;
let desk; // the office's browser
let page;

before(async () => {
  plant = await Plant.empty();
  const office = await author(plant, plant.someone("administrator"));
  await office.ask("/api/users", "POST", technician);
  // The register and the standard are added in other ways, which have tests of their own.
  const bar = { low: "0", high: "10", unit: "bar", mode: "gauge" };
  await office.write("standard", {
    name: "Rack",
    serial: "R-1",
    ranges: [{ ...bar, low: "-1", high: "20", of_span_percent: "0.02", k: "2" }],
    due: "2099-01-01",
    status: "in service",
  });
  for (const kind of ["switch", "leak", "pitot-static-leak"]) {
    const range = kind === "pitot-static-leak" ? { low: "-1000", high: "30000", unit: "ft", mode: "absolute" } : bar;
    ids[kind] = await office.write("instrument", {
      tag: `K-${kind.toUpperCase()}`,
      serial: kind,
      kind,
      range,
      resolution: "0.001",
      status: "in service",
      label: `${kind.slice(0, 4)}00001a`.slice(0, 10),
    });
  }
  desk = new Pocket(plant);
  page = await desk.begin(plant.someone("administrator"));
  await page.setViewportSize({ width: 1280, height: 900 });
});

after(async () => {
  await desk?.remove();
  await plant?.remove();
});

const press = (name) => page.getByRole("button", { name, exact: true }).first();

async function start(kind) {
  await page.goto(`${plant.url}/office/methods`);
  await press("New method").click();
  await page.getByLabel(kind, { exact: true }).check();
  await press("Continue").click();
  await page.getByRole("heading", { name: `A method: ${kind}` }).waitFor();
}

/** kept waits for the page of the saved method, and puts it into force without a second person. */
async function kept(name) {
  await page.getByRole("heading", { level: 1, name: new RegExp(`^${name} not in force yet$`) }).waitFor();
  await page.getByText("There is nobody else in the office.").waitFor({ timeout: 60000 });
  await press("Put version 1 into force without a second person").click();
  await page.getByRole("heading", { level: 1, name: new RegExp(`^${name} version 1$`) }).waitFor({ timeout: 60000 });
  await page.getByText("without a second person").first().waitFor();
}

test("instruments are added to the register: a transmitter and a disc, each complaint at its field, and changed afterwards", async () => {
  await page.goto(`${plant.url}/office/register`);
  await press("Add an instrument").click();
  const form = page.getByRole("region", { name: "Add an instrument" });
  await press("Save the data").click();
  await form.locator(".field.wrong").filter({ hasText: "Tag: this is needed." }).waitFor();
  await form.getByLabel("Tag", { exact: true }).fill("K-LEAK");
  const range = form.getByRole("region", { name: "Range", exact: true });
  await range.getByLabel("High end").fill("-2,5");
  await range.getByLabel("Unit").fill("bars");
  await press("Save the data").click();
  await form.getByRole("alert").getByText("a gauge needs one to be judged by").first().waitFor();
  const limit = form.getByRole("region", { name: "Limit", exact: true });
  await limit.getByLabel("class of EN 837-1").check();
  await limit.getByLabel("Class", { exact: true }).fill("0,25");
  await press("Save the data").click();
  await range.locator(".field.wrong").filter({ hasText: /^Unit/ }).waitFor();
  await range.getByLabel("Unit").fill("bar");
  await press("Save the data").click();
  await range
    .locator(".field.wrong")
    .filter({ hasText: /^High end/ })
    .waitFor();
  await range.getByLabel("High end").fill("6");
  const output = form.getByRole("region", { name: "Output", exact: true });
  await output.getByLabel("It has a signal output").check();
  await output.getByLabel("Signal at the low end").fill("4");
  await output.getByLabel("Signal at the high end").fill("20");
  await output.getByLabel("mA").check();
  await form.getByLabel("Resolution", { exact: true }).fill("0.001");
  await press("Save the data").click();
  await form.locator(".field.wrong").filter({ hasText: "K-LEAK is in the register already" }).waitFor();
  await form.getByLabel("Tag", { exact: true }).fill("PT-77");
  await form.getByLabel("Other names").fill("P 31 west\nk-leak");
  await press("Save the data").click();
  await form.locator(".field.wrong").filter({ hasText: "Other names: k-leak is a name of K-LEAK already" }).waitFor();
  await form.getByLabel("Note", { exact: true }).fill("Behind the panel.\nTwo screws.");
  await form.getByLabel(/^Oxygen service/).check();
  await sound(page, "an instrument being added");
  await snap(page, "kinds-item", [390, 1280]);
  await form.getByLabel("Other names").fill("P 31 west");
  await press("Save the data").click();
  const rows = page.locator("table.register tbody tr");
  await page.getByRole("status").getByRole("link", { name: "PT-77 is added." }).click();
  await page.getByRole("heading", { level: 1, name: "PT-77" }).waitFor();
  await page.getByText("0 … 6 bar gauge").waitFor();
  await page.goBack();
  await rows.filter({ hasText: "PT-77" }).getByRole("link", { name: "PT-77", exact: true }).waitFor();

  await press("Add an instrument").click();
  await form.getByLabel("Tag", { exact: true }).fill("RD-78");
  await form.getByLabel("Rupture discs of a lot").check();
  await form.getByRole("region", { name: "Limit", exact: true }).waitFor({ state: "detached" });
  await form.getByLabel("Test interval").fill("0");
  await range.getByLabel("High end").fill("4");
  await range.getByLabel("Unit").fill("bar");
  await press("Save the data").click();
  await form.locator(".field.wrong").filter({ hasText: "from 1 to 240 months" }).waitFor();
  await form.getByLabel("Test interval").fill("12");
  await press("Save the data").click();
  await page.getByRole("status").getByRole("link", { name: "RD-78 is added." }).waitFor();
  await rows.filter({ hasText: "RD-78" }).getByRole("link", { name: "RD-78", exact: true }).waitFor(); // no search has run since
  await sound(page, "the register with an instrument that was added just now");
  await snap(page, "kinds-added", [390, 1280]);
  assert.equal(await rows.filter({ hasText: "RD-78" }).count(), 1);
  await page.getByText("All work sent").first().waitFor({ timeout: 60000 });
  await page.getByLabel("Tag, serial, words or place").fill("31 west");
  await page.getByRole("link", { name: "PT-77", exact: true }).click();
  await page.getByText("0 … 6 bar gauge").waitFor();
  await press("Change its data").click();
  const facts = page.getByRole("region", { name: "Change its data" });
  assert.equal(
    await facts.getByRole("region", { name: "Limit", exact: true }).getByLabel("Class", { exact: true }).inputValue(),
    "0.25",
  );
  assert.equal(await facts.getByLabel("Other names").inputValue(), "P 31 west");
  assert.ok(await facts.getByLabel(/^Oxygen service/).isChecked());
  await facts.getByLabel("Note", { exact: true }).fill("Behind the panel.");
  await facts.getByLabel("Place", { exact: true }).fill("skid 9");
  await sound(page, "the facts of an instrument");
  await press("Save the data").click();
  await page.getByText("skid 9").waitFor();
  await press("Change its data").click();
  assert.equal(await facts.getByLabel("Note", { exact: true }).inputValue(), "Behind the panel.");
  assert.deepEqual(desk.faults, []);
});

test("methods of a switch, a leak and a pitot-static system are written with their forms; errors are shown at their fields", async () => {
  await start("Pressure switch");
  await press("Save as a draft").click();
  await page.getByRole("alert").getByText("Name: this is needed.").first().waitFor();
  await page.getByLabel("Name", { exact: true }).fill("Switches, two cycles");
  await page.getByLabel("Cycles").fill("two");
  await press("Save as a draft").click();
  await page.locator(".field.wrong").filter({ hasText: "Cycles: a whole number is needed." }).waitFor();
  await page.getByLabel("Cycles").fill("90"); // a refusal of the calculation is shown there as well
  await press("Save as a draft").click();
  await page
    .locator(".field.wrong")
    .filter({ hasText: /^Cycles.*from 1 to 50/ })
    .waitFor();
  await page.getByLabel("Cycles").fill("2");
  await page.getByRole("region", { name: "Preview" }).waitFor();
  await sound(page, "form of a switch's method");
  await snap(page, "kinds-switch");
  await press("Save as a draft").click();
  await kept("Switches, two cycles");

  await start("Leak test of a closed system");
  await page.getByLabel("Name", { exact: true }).first().fill("Tight at six bar");
  const phase = page.getByRole("listitem", { name: "phase 1" });
  await phase.getByLabel("Wait to stabilise").fill("0:00:01");
  await phase.getByLabel("Measure for").fill("0:61");
  await phase.getByLabel("Reading interval").fill("1");
  await phase.getByLabel("Test pressure").fill("6");
  await phase.getByLabel("Unit", { exact: true }).fill("bar");
  await press("Save as a draft").click();
  await phase.locator(".field.wrong").filter({ hasText: "Measure for: write h:min:s" }).waitFor();
  await phase.getByLabel("Measure for").fill("0:00:05");
  await phase.getByLabel("Test pressure").fill("60"); // the instrument that it is tried on has ten bar at most
  await press("Save as a draft").click();
  await phase
    .locator(".field.wrong")
    .filter({ hasText: /^Test pressure.*phase 1, Test pressure: / })
    .waitFor();
  await phase.getByLabel("Test pressure").fill("6");
  await phase.getByLabel("Limit: change of pressure").fill("25,0");
  assert.equal(await phase.getByRole("group", { name: "Nozzles, for that rule" }).count(), 0);
  await phase.getByLabel(/^TP-201/).check(); // a rule replaces a limit, which returns when the rule is removed
  await phase.getByRole("group", { name: "Nozzles, for that rule" }).waitFor();
  assert.equal(await phase.getByLabel("Limit: change of pressure").count(), 0);
  await press("Save as a draft").click();
  await phase.getByText("Nozzles, for that rule: this is needed.").waitFor();
  await sound(page, "form of a leak's method by a rule");
  await phase.getByRole("group", { name: "Limit by a rule" }).getByLabel("none").check();
  for (const what of ["Temperature of the gas", /^Barometer/])
    await page.getByRole("group", { name: what }).getByLabel("not asked for").check();
  await sound(page, "form of a leak's method");
  await press("Save as a draft").click();
  await kept("Tight at six bar");
  await page.getByRole("button", { name: "Change" }).click();
  assert.equal(await phase.getByLabel("Measure for").inputValue(), "0:00:05");
  assert.equal(await phase.getByLabel("Limit: change of pressure").inputValue(), "25.0");
  await press("Save as a draft").click();
  await page.getByText("Nothing differs").waitFor();

  await start("Pitot and static system, leak");
  await page.getByLabel("Name", { exact: true }).fill("Lines of the trainer");
  await page.getByText("hold it against the current text").waitFor();
  await page.getByLabel("Due again after").fill("12");
  await page.getByRole("region", { name: "Static system", exact: true }).getByLabel("It is tested").uncheck();
  assert.equal(await page.getByRole("group", { name: "Pitot line" }).count(), 0);
  await snap(page, "kinds-pitot-static", [390, 1280]);
  await page.getByRole("region", { name: "Static system", exact: true }).getByLabel("It is tested").check();
  await page.getByRole("group", { name: "Pitot line" }).waitFor();
  await page.getByRole("region", { name: "Static system", exact: true }).getByLabel("Start from").fill("1000");
  await page.getByRole("region", { name: "Pitot system" }).getByLabel("It is tested").uncheck();
  await press("Save as a draft").click();
  await kept("Lines of the trainer");
  assert.deepEqual(desk.faults, []);
});

async function give(id, method) {
  await page.goto(`${plant.url}/instrument/${id}`);
  await press("Assign a method").click();
  await page.getByLabel(new RegExp(method)).check();
  await press("Assign it").click();
  await page.getByText(/given to 1 instrument/).waitFor();
}

test("the office enters the particulars of a switch and a system, and gives them their methods", async () => {
  await page.goto(`${plant.url}/instrument/${ids.switch}`);
  await press("Say what it is").click();
  await press("Keep").click();
  await page.getByRole("alert").getByText("Contacts: this is needed.").first().waitFor();
  await press("Add: contact 1").click();
  const contact = page.getByRole("listitem", { name: "contact 1" });
  await contact.getByLabel("Name", { exact: true }).fill("K1");
  await press("Keep").click();
  await contact.getByRole("alert").getByText("It acts when the pressure: this is needed.").waitFor();
  await contact.getByLabel("rises").check();
  await contact.getByLabel("Set point").fill("1.5");
  await contact.getByLabel("Tolerance, plus or minus").first().fill("0,05");
  await contact.getByLabel("Tolerance, plus or minus").last().fill("3");
  await press("Keep").click();
  await contact
    .locator(".field.wrong")
    .filter({ hasText: /Tolerance/ })
    .waitFor(); // only one of the two may be given
  await contact.getByLabel("Tolerance, plus or minus").last().fill("");
  await contact.getByLabel("At least").fill("0.6");
  await contact.getByLabel("At most").fill("0.8");
  await sound(page, "what a switch is");
  await snap(page, "kinds-contacts");
  await press("Keep").click();
  await page.getByText("acts rising at 1.5 bar \u00b1 0.05 bar, dead band 0.6 to 0.8 bar").waitFor();
  await give(ids.switch, "Switches, two cycles");

  await page.goto(`${plant.url}/instrument/${ids.leak}`);
  await press("Say what it is").click();
  await page.getByLabel("Volume of the system").fill("12,5");
  await press("Keep").click();
  await page.getByText("12.5 L").waitFor();
  await give(ids.leak, "Tight at six bar");
  await give(ids["pitot-static-leak"], "Lines of the trainer");
  await page.getByText("All work sent").first().waitFor({ timeout: 60000 });
  assert.deepEqual(desk.faults, []);
});

test("a technician tests the switch and the system by them", async () => {
  const pocket = new Pocket(plant);
  try {
    page = await pocket.open();
    await logIn(page, plant, technician);
    await page.getByText("sending …").waitFor({ state: "hidden", timeout: 120000 });
    await page.goto(`${plant.url}/instrument/${ids.switch}`);
    await press("Start visit").click();
    await prepare(page);
    const typed = ["1.50", "0.81", "1.51", "0.80"];
    const kept = await walk(
      () => page,
      () => typed.shift() ?? assert.fail("more than two cycles are asked for"),
    );
    assert.equal(kept, 4);
    await press("Close this run").click();
    await page.getByText("As found: result").waitFor();
    await page.locator("main").getByText("pass", { exact: true }).first().waitFor();

    await page.goto(`${plant.url}/instrument/${ids.leak}`);
    await press("Start visit").click();
    await prepare(page);
    let n = 0;
    await walk(
      () => page,
      () => (++n > 6 ? { press: "End the readings" } : "6.0000"),
    );
    await press("Close this run").click();
    await page.getByText("As found: result").waitFor();
    await page.getByText("Pa/s").first().waitFor();
    assert.deepEqual(pocket.faults, []);
  } finally {
    await pocket.remove();
  }
});
