// A phone of a large made-up company: on a line of 5 Mbit/s and with a processor four times slower
// than this one, how long it takes to the round of the day, what it keeps, how fast its search is,
// and what a day's work of all others costs it. Prints figures and judges nothing.
//
// Usage: node e2e/company.mjs FOLDER (of a company that cmd/scale made; its rounds begin today)
import { createServer, connect } from "node:net";
import { availableParallelism, cpus, loadavg } from "node:os";
import { resolve } from "node:path";
import { newId, written } from "../../sync/bench/records.mjs";
import { logIn, Plant } from "./plant.mjs";
import { asPerson, Pocket, whole } from "./pocket.mjs";

const slower = 4;
const settled = 60_000; // ms after the server's start, which reads its lists
const line = 5e6 / 8; // bytes a second, each way
const delay = 25; // ms, each way
const visitsEach = 10; // of a site's day
const readings = 12; // of a visit
const dir = resolve(process.argv[2] ?? "");
const password = "seven brass kettles hum";
const say = (what, goal, value) => console.log(`${what.padEnd(64)} ${goal.padEnd(10)} ${value}`);
const rest = (ms) => new Promise((done) => setTimeout(done, ms));

/**
 * slowLine puts a slow line in front of a server, and counts what goes through it: held is what of
 * it came down as what the phone is to hold.
 */
async function slowLine(port) {
  const n = { up: 0, down: 0, held: 0 };
  /** lane sends on what comes, in its order and at the line's rate. All connections share it. */
  const lane = (name) => {
    let free = 0; // when the line has sent all that came
    return (from, to) =>
      from.on("data", (d) => {
        n[name] += d.length;
        const now = performance.now();
        free = Math.max(free, now) + (d.length / line) * 1000;
        if (free - now > 200) from.pause();
        setTimeout(() => {
          to.write(d);
          from.resume();
        }, free - now + delay);
      });
  };
  const [up, down] = [lane("up"), lane("down")];
  const s = createServer((a) => {
    const b = connect(port, "127.0.0.1");
    for (const x of [a, b]) x.setNoDelay();
    let holds = false; // the answer is to a request for what the phone is to hold
    a.on("data", (d) => {
      const [, asks] = /^[A-Z]+ (\S+) HTTP/.exec(d.subarray(0, 200).toString("latin1")) ?? [];
      if (asks !== undefined) holds = asks === "/api/hold";
    });
    b.on("data", (d) => {
      if (holds) n.held += d.length;
    });
    up(a, b);
    down(b, a);
    const end = () => setTimeout(() => (a.destroy(), b.destroy()), 300);
    for (const x of [a, b]) x.on("error", end).on("close", end);
  });
  await new Promise((done) => s.listen(0, "127.0.0.1", done));
  return { n, url: `http://localhost:${s.address().port}`, close: () => s.close() };
}

/** keys types a word into the search and gives how long each key took to its last result on the screen. */
async function keys(page, word) {
  await page.evaluate(() => {
    window.keyed = [];
    let pressed = 0;
    const seen = () => pressed && (window.keyed[window.keyed.length - 1] = performance.now() - pressed);
    new MutationObserver(() => requestAnimationFrame(seen)).observe(document.querySelector("main"), {
      subtree: true,
      childList: true,
      characterData: true,
    });
    document.addEventListener(
      "input",
      () => {
        pressed = performance.now();
        window.keyed.push(0);
      },
      true,
    );
  });
  for (const key of word) {
    await page.keyboard.type(key);
    await page.waitForTimeout(900);
  }
  return page.evaluate(() => window.keyed);
}

/** whoIs gives the id of whom a log-in name belongs to. */
async function whoIs(plant, name) {
  const headers = { "content-type": "application/json" };
  const r = await fetch(`${plant.url}/api/login`, { method: "POST", headers, body: JSON.stringify({ name, password }) });
  return r.ok ? (await r.json()).user.id : "";
}

/**
 * day writes a day's work at each site of the company, and gives how many changes that is. At the
 * phone's own site that may be work which the phone's own person began on another device: the phone
 * then fetches these instruments in full.
 */
async function day(plant, people, sites) {
  let count = 0;
  for (let n = 1; n <= sites; n++) {
    const { rows } = await plant.office(`/api/office/table?q=s${String(n).padStart(2, "0")}pi0`);
    const site = rows[0]?.site;
    const person = people.find((p) => p.role === "technician" && p.sites.includes(site));
    if (person === undefined) continue;
    if ((await whoIs(plant, person.login)) !== person.id) continue; // two people of one name
    const ask = await asPerson(plant, { name: person.login, password });
    const device = newId();
    const changes = [];
    const put = (record, kind, parent, field, value) =>
      changes.push(
        written(device, changes.length + 1, person.id, record, kind, parent, field, value).replace(
          '"site":""',
          `"site":"${site}"`,
        ),
      );
    for (const { id } of rows.slice(0, visitsEach)) {
      const [visit, run] = [newId(), newId()];
      put(visit, "visit", id, "instrument", id);
      put(visit, "visit", id, "person", person.id);
      put(run, "run", visit, "label", "as found");
      for (let i = 0; i < readings; i++)
        put(run, "run", visit, `capture.${newId()}`, {
          step: `s1.up.${i}`,
          of: "indicated",
          value: (i / 2).toFixed(2),
          unit: "bar",
          at: "2026-03-04T05:06:07.089Z",
        });
    }
    const request = {
      store: "",
      epoch: "",
      root: "",
      cursor: 0,
      scope: "",
      nonce: newId().slice(0, 12),
      device,
      limit: 1,
      changes: changes.map((c) => JSON.parse(c)),
    };
    const reply = await ask("/api/sync", "POST", request);
    if (reply.acknowledged.length !== changes.length || reply.quarantined?.length)
      throw new Error(`a day's work was not taken: ${JSON.stringify(reply.quarantined).slice(0, 300)}`);
    count += changes.length;
  }
  return count;
}

/** loginOf is a person's log-in name, as cmd/scale gives it. */
const loginOf = (p) => p.name.toLowerCase().replace(" ", ".");

const plant = new Plant(dir, 0);
plant.verb = "serve";
plant.remove = undefined; // the folder stays
const free = createServer().listen(0, "127.0.0.1");
await new Promise((done) => free.once("listening", done));
plant.port = free.address().port;
free.close();
plant.url = `http://localhost:${plant.port}`;
let phone;
let slow;
try {
  console.log(
    `${cpus()[0].model}, ${availableParallelism()} cores, load ${loadavg()[0].toFixed(1)}; ` +
      `${(line * 8) / 1e6} Mbit/s, ${delay} ms each way, CPU of the page ${slower} times slower, ` +
      `${settled / 1000} s after the server's start\n`,
  );
  await plant.start();
  plant.office = await asPerson(plant, { name: "aldo.arnvik", password });
  const { people } = await plant.office("/api/office/people");
  for (const p of people) p.login = loginOf(p);
  const { all } = await plant.office("/api/office/table");
  const sites = [...new Set(people.flatMap((p) => p.sites))];
  say("instruments of the company, at sites", "", `${all}, ${sites.length}`);
  await rest(settled);
  slow = await slowLine(plant.port);
  const through = Object.assign(Object.create(plant), { url: slow.url });

  phone = new Pocket(through);
  const page = await phone.open();
  const session = await page.context().newCDPSession(page);
  await session.send("Emulation.setCPUThrottlingRate", { rate: slower });
  const first = performance.now();
  await page.goto(through.url);
  await page.getByLabel("Password").waitFor();
  say("first visit: to the log-in", "", `${((performance.now() - first) / 1000).toFixed(1)} s, ${kB(slow.n.down)}`);
  const before = { ...slow.n };
  const began = performance.now();
  await logIn(page, through, { name: "corvin.castrel", password });
  await page.locator("main a[href^='/instrument/']").first().waitFor({ timeout: 300_000 });
  say("first sync: from the log-in to the stops of the day's round", "", seconds(performance.now() - began));
  await page.waitForFunction(
    () => {
      const stops = [...document.querySelectorAll("main .stops li")];
      return stops.length > 0 && stops.every((s) => !s.textContent.includes("not on this device"));
    },
    undefined,
    { timeout: 300_000 },
  );
  say("  to the day's round with all its instruments", "10 s", seconds(performance.now() - began));
  await whole(page);
  say("  to all that the phone holds", "", seconds(performance.now() - began));
  say("  on the line, down and up", "", `${kB(slow.n.down - before.down)}, ${kB(slow.n.up - before.up)}`);
  const used = await page.evaluate(async () => (await navigator.storage.estimate()).usage);
  say("  storage of the browser, with the program", "30 MB", `${(used / 1e6).toFixed(1)} MB`);

  await page.goto(`${through.url}/find`);
  await page.getByLabel("Tag, serial, range, area or words").click();
  await page.waitForTimeout(2000);
  for (const word of ["pi-01", "header st", "boiler"]) {
    const took = await keys(page, word);
    say(
      `search for “${word}”: middle and longest key`,
      "100 ms",
      `${middle(took).toFixed(0)} ms, ${Math.max(...took).toFixed(0)} ms`,
    );
    await page.getByLabel("Tag, serial, range, area or words").fill("");
    await page.waitForTimeout(1500);
  }

  await rest(5000);
  const quiet = { ...slow.n };
  const changes = await day(plant, people, sites.length);
  await page.goto(through.url);
  await rest(30_000);
  say(
    `a day of all others, ${changes} changes: down and up`,
    "200 kB",
    `${kB(slow.n.down - quiet.down)}, ${kB(slow.n.up - quiet.up)}`,
  );
  say("  of it instruments in full, begun by this person elsewhere", "", kB(slow.n.held - quiet.held));
} finally {
  slow?.close();
  await phone?.remove();
  plant.server?.kill("SIGTERM");
}

function kB(n) {
  return `${(n / 1000).toFixed(0)} kB`;
}

function seconds(ms) {
  return `${(ms / 1000).toFixed(1)} s`;
}

function middle(list) {
  return list.toSorted((a, b) => a - b)[Math.floor(list.length / 2)];
}
