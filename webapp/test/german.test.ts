// German has every text that English has, and has no English left in it.
import assert from "node:assert/strict";
import { readdirSync, readFileSync } from "node:fs";
import { test } from "node:test";
import { elsewhere, form } from "../src/words/de/form";
import { formTexts } from "../src/words/de/forms";
import { german } from "../src/words/de/german";
import { verify } from "../src/words/de/verify";
import { said } from "../src/words/de/say";
import type { Field } from "../src/words/field";
import { accountWords } from "../src/words/account";
import { afterWords } from "../src/words/after";
import { aheadWords } from "../src/words/ahead";
import { alongWords } from "../src/words/along";
import { airWords } from "../src/words/air";
import { amendWords } from "../src/words/amend";
import { bringInWords } from "../src/words/bring-in";
import { earlierWords } from "../src/words/earlier";
import { eraseWords } from "../src/words/erase";
import { signingWords } from "../src/words/signing";
import { takeOutWords } from "../src/words/take-out";
import { exchangeWords } from "../src/words/exchange";
import { bringResultsWords } from "../src/words/bring-results";
import { fieldNames } from "../src/words/field-names";
import { memberNames } from "../src/words/member-names";
import { approvalWords } from "../src/words/approvals";
import { machinesWords } from "../src/words/machines";
import { manifoldWords } from "../src/words/manifold";
import { budgetWords } from "../src/words/budget";
import { bulkWords } from "../src/words/bulk";
import { calculateForms, calculateWords } from "../src/words/calculate";
import { connectionWords } from "../src/words/connection";
import { deskWords } from "../src/words/desk";
import { ordersWords } from "../src/words/orders";
import { otherMethodWords } from "../src/words/other-method";
import { cautionWords } from "../src/words/cautions";
import { courseWords } from "../src/words/course";
import { english } from "../src/words/english";
import { enteringWords } from "../src/words/entering";
import { eventsWords } from "../src/words/events";
import { figureWords } from "../src/words/figures";
import { giveWords } from "../src/words/give";
import { itemForm } from "../src/words/item-form";
import { kindForms } from "../src/words/kind-forms";
import { helpWords } from "../src/words/help";
import { kindsWords } from "../src/words/kinds";
import { messageWords } from "../src/words/messages";
import { methodsWords } from "../src/words/methods";
import { officeWords } from "../src/words/office";
import { outlookWords } from "../src/words/outlook";
import { particularsWords } from "../src/words/particulars";
import { peopleWords } from "../src/words/people";
import { programmeWords } from "../src/words/programme";
import { historyWords } from "../src/words/history";
import { planningWords } from "../src/words/planning";
import { registerWords } from "../src/words/register";
import { roundWords } from "../src/words/rounds";
import { scanWords } from "../src/words/scan";
import { settingsWords } from "../src/words/settings";
import { standardsWords } from "../src/words/standards";
import { stopWords } from "../src/words/stops";
import { syncWords } from "../src/words/sync";
import { systemsWords } from "../src/words/systems";
import { todayWords } from "../src/words/today";
import { traceWords } from "../src/words/trace";
import { verifyEnglish } from "../src/words/verify";
import { visitWords } from "../src/words/visit";
import { wayWords } from "../src/words/way";
import { waysWords } from "../src/words/ways";

const parts: { [part: string]: unknown } = {
  account: accountWords,
  after: afterWords,
  ahead: aheadWords,
  along: alongWords,
  air: airWords,
  amend: amendWords,
  budget: budgetWords,
  bulk: bulkWords,
  bringIn: bringInWords,
  desk: deskWords,
  machines: machinesWords,
  orders: ordersWords,
  otherMethod: otherMethodWords,
  earlier: earlierWords,
  erase: eraseWords,
  signing: signingWords,
  takeOut: takeOutWords,
  exchange: exchangeWords,
  bringResults: bringResultsWords,
  fieldNames,
  memberNames,
  approvals: approvalWords,
  manifold: manifoldWords,
  calculate: calculateWords,
  connection: connectionWords,
  cautions: cautionWords,
  course: courseWords,
  english,
  entering: enteringWords,
  events: eventsWords,
  figures: figureWords,
  give: giveWords,
  help: helpWords,
  kinds: kindsWords,
  messages: messageWords,
  methods: methodsWords,
  office: officeWords,
  outlook: outlookWords,
  particulars: particularsWords,
  people: peopleWords,
  programme: programmeWords,
  register: registerWords,
  planning: planningWords,
  history: historyWords,
  rounds: roundWords,
  scan: scanWords,
  settings: settingsWords,
  standards: standardsWords,
  stops: stopWords,
  sync: syncWords,
  systems: systemsWords,
  today: todayWords,
  trace: traceWords,
  visit: visitWords,
  way: wayWords,
  ways: waysWords,
};

const wordsFolder = "webapp/src/words";

/** The stored value of a choice, before its name; and a time that is no number. */
const code = /\.(modes|states)\.\d\.0$|^\.visit\.seconds$/;

/**
 * leaves lists the texts of a part by their paths; for functions, what they return for some values.
 */
function leaves(x: unknown, path: string, into: Map<string, string>): Map<string, string> {
  if (typeof x === "string") into.set(path, x);
  else if (typeof x === "function") {
    const f = x as (...values: unknown[]) => unknown;
    const asked = [
      ["two", ...Array(f.length).fill(2)],
      ["one", ...Array(f.length).fill(1)],
      ["text", ...Array(f.length).fill("X")],
    ];
    for (const [name, ...values] of asked) {
      let out: unknown;
      try {
        out = f(...values);
      } catch {
        continue; // not a value that it takes
      }
      if (typeof out === "string") into.set(`${path}(${name})`, out);
    }
  } else if (x !== null && typeof x === "object")
    for (const [name, v] of Object.entries(x)) if (!code.test(`${path}.${name}`)) leaves(v, `${path}.${name}`, into);
  return into;
}

const texts = (of: { [part: string]: unknown }) => leaves(of, "", new Map());

/** The same in both languages: names, units, figures, words that both have. */
const same = new Set([
  "Webhooks",
  "English",
  "Deutsch",
  ..."Gaugewright|Drift|Name|Model|Status|Version|Code|Passkeys|Text|Plan|Start|Barometer|Argon|Helium|CO2|FLT|GAS|Limit".split(
    "|",
  ),
  ..."EN 837|B40.100|M1|M2|MX|A4|US Letter|ft, kt|ft|kt|Pa/s|h:min:s|U|u|k|a|b|x|y|n|s|Pitot|Formel|trim|Material".split(
    "|",
  ),
  ..."Administrator|Hub|m/s²|°|m|–|Filter|Medium|Temperatur|Person|Sensor|Logger|Differential|Programme|Operator|Parameter|gaugewright-export.zip|Webhooks|English|Deutsch".split(
    "|",
  ),
]);

/** figures says that a text has no word of three letters or more except values and units. */
const figures = (text: string) => !/[A-Za-z]{3,}/.test(text.replace(/\b(min|mol|bar|kPa|hPa|inHg|MB|DCC|XML)\b/g, ""));

test("every part has its German, with every text of it", () => {
  const named = readdirSync(wordsFolder)
    .filter((f) => f.endsWith(".ts"))
    .flatMap((f) =>
      [...readFileSync(`${wordsFolder}/${f}`, "utf8").matchAll(/\bsay\("([\w-]+)"/g)].map((m) => m[1] ?? ""),
    );
  assert.deepEqual(named.sort(), Object.keys(parts).sort(), "each part is compared here");
  // A file of texts without a language would be shown in English.
  const others = ["boxes", "english", "field", "in-language", "item-form", "kind-forms", "language", "verify"];
  const files = readdirSync(wordsFolder).filter((f) => f.endsWith(".ts"));
  const without = files.filter((f) => !/\bsay\(/.test(readFileSync(`${wordsFolder}/${f}`, "utf8")));
  assert.deepEqual(
    without.sort(),
    others.map((f) => `${f}.ts`),
  );
  assert.deepEqual(Object.keys(german.parts).sort(), Object.keys(parts).sort());
  const [ours, theirs] = [texts({ ...parts, verify: verifyEnglish }), texts({ ...german.parts, verify })];
  const of = (m: Map<string, string>) => new Set([...m.keys()].map((k) => k.replace(/\(\w+\)$/, "()")));
  const [english, translated] = [of(ours), of(theirs)];
  const lacks = [...english].filter((k) => !translated.has(k));
  const more = [...translated].filter((k) => !english.has(k));
  assert.deepEqual([lacks, more], [[], []]);
  assert.ok(ours.size > 1500, `only ${ours.size} texts were compared`);
});

test("every button named in the help exists under that name", () => {
  const quoted = (of: Map<string, string>, marks: RegExp) =>
    [...of].filter(([k]) => k.startsWith(".help.")).flatMap(([, v]) => [...v.matchAll(marks)].map((m) => m[1] ?? ""));
  for (const [of, marks] of [
    [texts(parts), /“([^”]+)”/g],
    [texts(german.parts), /„([^“]+)“/g],
  ] as const) {
    const names = quoted(of, marks);
    const known = [...of].filter(([k]) => !k.startsWith(".help.")).map(([, v]) => v);
    assert.ok(names.length > 8, `${names}`);
    const start = (name: string) => name.split(": ").pop() ?? name; // "Start: As found" is put together
    assert.deepEqual(
      names.filter((n) => n !== "=" && !known.some((v) => v === n || v.startsWith(n) || v === start(n))),
      [],
    );
  }
});

test("no German text equals the English one", () => {
  const theirs = texts({ ...german.parts, verify });
  const alike = [...texts({ ...parts, verify: verifyEnglish })].filter(
    ([k, v]) => theirs.get(k) === v && !same.has(v) && !figures(v),
  );
  // A programme's own language, or only values.
  const may = [
    /^\.programme\.examples$/,
    /\.(refused|by|note|signedBy|keyed|version|noStatement|cell|said|sum)\(/,
    /\.Versio?n/,
  ];
  assert.deepEqual(
    alike.filter(([k]) => !may.some((m) => m.test(k))),
    [],
  );
});

const englishWords =
  /\b(the|of|and|is|are|was|not|with|this|that|from|for|has|have|be|it|its|by|at|to|or|on|no|an|kept|needed)\b/;

test("no English word is left in a German text", () => {
  const all: [string, string][] = [
    ...texts({ ...german.parts, verify }),
    ...Object.entries(formTexts).map(([k, v]) => [`form ${k}`, v] as [string, string]),
  ];
  const left = all.filter(
    ([k, v]) =>
      englishWords.test(v.replace(/„[^“]*“|\b(was|an)\b|gaugewright|change 1|--mail-from/g, "")) &&
      k !== ".programme.examples",
  );
  assert.deepEqual(left, []);
});

const fieldTexts = (f: Field): string[] => [
  f.label,
  f.hint ?? "",
  f.unit ?? "",
  ...(f.as === "choice" || f.as === "checks" ? f.options.map(([, name]) => name) : []),
  ...(f.as === "group" || f.as === "list" ? f.fields.flatMap(fieldTexts) : []),
  ...(f.as === "group" ? [f.switch ?? ""] : []),
  ...(f.as === "list" ? [f.item(3)] : []),
];

test("every text of a form has its German", () => {
  const fields = [
    ...itemForm,
    ...Object.values(kindForms).flatMap((k) => [...k.method, ...k.particulars]),
    ...Object.values(calculateForms).flat(),
  ];
  const asked = [...new Set(fields.flatMap(fieldTexts))].filter(
    (t) => t !== "" && !figures(t) && !/^(ft\/min|kt\/min|Pa·m³\/s|Pa\/s|inHg|hPa|%\/K|psi|x|y|r)$/.test(t),
  );
  assert.ok(asked.length > 250, `only ${asked.length} texts of forms`);
  const given = new Set([...elsewhere, ...Object.values(cautionWords.codes), ...Object.values(kindsWords.things)]);
  const own = new Set(Object.keys(formTexts));
  const missing = asked.filter((t) => !own.has(t) && !own.has(t.replace(/\d+$/, "{}")) && !given.has(t));
  assert.deepEqual(missing, []);
  assert.equal(form("phase 3"), "Phase 3");
  const spare = [...own].filter((t) => !asked.some((a) => a === t || a.replace(/\d+$/, "{}") === t) && !figures(t));
  assert.deepEqual(spare, [], "no form says it");
});

const comma = (n: string) => n.replace("-", "\u2212").replace(".", ",");

test("the calculations' sentences are shown in German with their values, people's as they wrote them", () => {
  const rows: [string, string][] = [
    ["no burst", "kein Bersten"],
    ["disc 3: no burst up to the end limit", "Scheibe 3: kein Bersten bis zur Endgrenze"],
    [
      "this is finer than it can be read: the smallest step is 0.01 bar",
      "das ist feiner, als sich ablesen lässt: der kleinste Schritt ist 0,01 bar",
    ],
    ["Vapour space: detection limit", "Vapour space: Nachweisgrenze"],
    ["Slowly, until K1 resets, and stop.", "Langsam, bis K1 zurückschaltet, und anhalten."],
    [
      "Slowly, until K1 acts, and stop. The first change after a standstill counts: do not exercise the switch before it.",
      "Langsam, bis K1 schaltet, und anhalten. Das erste Schalten nach Stillstand zählt: den Schalter vorher nicht betätigen.",
    ],
    [
      "at the marked pressure: the gas holds 1.5 J (isentropic), 1.2 J (Brode), 1 J (isothermal).",
      "beim angegebenen Druck: das Gas speichert 1,5 J (isentrop), 1,2 J (Brode), 1 J (isotherm).",
    ],
    ["3 values are missing", "3 Werte fehlen"],
    ["p2 - p1 = 0.3 is not below 0.2", "p2 - p1 = 0,3 liegt nicht unter 0,2"],
    ["What is the colour of the valve?", "What is the colour of the valve?"],
    ["Stand by the valve at the end", "Stand by the valve at the end"],
    ["Go to the roof", "Go to the roof"],
  ];
  for (const [asked, want] of rows) assert.equal(said(asked, comma), want);
  assert.equal(
    said("3 values are missing", (n) => n),
    "3 Werte fehlen",
  );
});

const styled =
  /^(button|side|keys|pair|quiet|frame|field|number|caution|opened|rows|lead|typed|row|small|band|trace|point|sheet|wide|visit|cycle|bar|stop)\b[a-z -]*$/;

test("no component has a sentence of its own: all texts of screens are in words", () => {
  const found: string[] = [];
  for (const folder of ["screens", "forms", "views", "parts", "shell", "nav"])
    for (const f of readdirSync(`webapp/src/${folder}`, { recursive: true })) {
      if (!/\.tsx?$/.test(f)) continue;
      const source = readFileSync(`webapp/src/${folder}/${f}`, "utf8")
        .replace(/\/\*[\s\S]*?\*\/|(^|\s)\/\/.*$/gm, "")
        .replace(/\bclass=("[^"]*"|\{`[^`]*`\})|new Error\([^)]*\)/g, "");
      for (const m of source.matchAll(/"((?:[^"\\\n]|\\.)*)"|`((?:[^`\\]|\\.)*)`|>\s*([A-Za-z][^<>{}()=;]*)</g)) {
        const text = (m[1] ?? m[2] ?? m[3] ?? "").trim();
        const said = text.replace(/\$\{[^}]*\}/g, "");
        // A storage key of a form's text begins with the id of its visit; classes are words of the
        // styles.
        if (text.startsWith("${") || /[;\\]|^settle within|^input, /.test(text) || styled.test(text)) continue;
        if (m[3] === undefined ? /[A-Za-z]{2,},? [a-z]{2,},? [a-z]+/.test(said) : /^[A-Z][a-z]+ [a-z]+/.test(said))
          found.push(`${folder}/${f}: ${text}`);
      }
    }
  assert.deepEqual(found, []);
});
