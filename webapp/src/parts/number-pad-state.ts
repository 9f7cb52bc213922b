/** A key of the pad: a digit, the decimal mark, the sign, or deleting the last character. */
export type PadKey = "0" | "1" | "2" | "3" | "4" | "5" | "6" | "7" | "8" | "9" | "mark" | "sign" | "back";

const longest = 16;

/** press gives the text after a key. The text is always plain, with a point. */
export function press(text: string, key: PadKey): string {
  switch (key) {
    case "back":
      return text.slice(0, -1) === "-" ? "" : text.slice(0, -1);
    case "sign":
      return text.startsWith("-") ? text.slice(1) : `-${text}`;
    case "mark":
      if (text.includes(".")) return text;
      return text === "" || text === "-" ? `${text}0.` : `${text}.`;
    default:
      if (text.length >= longest) return text;
      if (text === "0" || text === "-0") return text.slice(0, -1) + key;
      return text + key;
  }
}

/**
 * tidy writes a typed text with a point as decimal mark and without the unit after it. A text that
 * is no number stays as typed: it is not turned into one.
 */
export function tidy(typed: string, unit = ""): string {
  const plain = typed.replace("\u2212", "-").replace(",", ".").trimStart();
  const bare = plain.trimEnd();
  return unit !== "" && bare.endsWith(unit) && /^[-+]?[\d.]+\s*$/.test(bare.slice(0, -unit.length))
    ? bare.slice(0, -unit.length).trimEnd()
    : plain;
}

type Scaled = { units: bigint; places: number };

function scaled(decimal: string): Scaled | undefined {
  const m = /^([+-]?)(\d*)(?:\.(\d*))?$/.exec(decimal);
  if (!m || (m[2] ?? "") + (m[3] ?? "") === "") return undefined;
  const digits = BigInt((m[2] ?? "") + (m[3] ?? ""));
  return { units: m[1] === "-" ? -digits : digits, places: (m[3] ?? "").length };
}

function written({ units, places }: Scaled): string {
  const digits = String(units < 0n ? -units : units).padStart(places + 1, "0");
  const whole = digits.slice(0, digits.length - places);
  return (units < 0n ? "-" : "") + (places > 0 ? `${whole}.${digits.slice(-places)}` : whole);
}

/** step moves a decimal text by one resolution, digit by digit. An empty text begins at start. */
export function step(text: string, resolution: string, way: 1 | -1, start: string): string {
  const by = scaled(resolution);
  const from = scaled(text === "" || text === "-" ? start || "0" : text);
  if (!by || !from) return text;
  const places = Math.max(by.places, from.places);
  const lift = (s: Scaled) => s.units * 10n ** BigInt(places - s.places);
  return written({ units: lift(from) + BigInt(way) * lift(by), places });
}
