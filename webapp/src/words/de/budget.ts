import type { budgetWords } from "../budget";

const inRecord = "die Angaben des Normals, wie in die Prüfung übernommen";
const meterRecord = "die Angaben des Messgeräts, wie in die Prüfung übernommen";
const baroRecord = "die Angaben des Barometers, wie in die Prüfung übernommen";
const instrument = "die Angaben des Geräts";

const from: { [code: string]: string } = {
  "standard.u": "die Angaben des Normals",
  standard: "die Angaben des Normals",
  "standard.certificate": "die Punkte des Kalibrierscheins des Normals",
  "standard.drift_per_year": "die Angaben des Normals und sein Kalibrierdatum",
  resolution: instrument,
  "output.resolution": instrument,
  readings: "die Messwerte dieses Durchgangs",
  temperature_coefficient_percent_per_k: "Koeffizient des Geräts oder Verfahrens und die eingetragene Temperatur",
  "head.half_width_m": "halbe Breite des Höhenunterschieds",
  "head.density_half_width_kg_m3": "halbe Breite der Dichte",
  repeatability_percent: "Wert des Geräts oder Verfahrens, bei einem Zyklus",
  head: "für die eingetragene Höhe verwendete Fallbeschleunigung",
  "head.gravity_m_s2": "eingetragene Fallbeschleunigung",
  "head.latitude_deg": "Fallbeschleunigung aus der eingetragenen geografischen Breite",
  "output.meter_u": instrument,
  meter: meterRecord,
  meter_cert: "die Punkte des Kalibrierscheins des Messgeräts",
  meter_step: meterRecord,
  meter_interp: "die Punkte des Kalibrierscheins des Messgeräts",
  meter_drift: "die Angaben des Messgeräts und sein Kalibrierdatum",
  baro: baroRecord,
  baro_step: baroRecord,
  baro_cert: "die Punkte des Kalibrierscheins des Barometers",
  baro_interp: "die Punkte des Kalibrierscheins des Barometers",
  baro_drift: "die Angaben des Barometers und sein Kalibrierdatum",
  baro_once: "\u00b11 hPa, während der Prüfung (übliche Praxis)",
};

/** The texts about uncertainty, standards and corrections on a visit, in German. */
export const budget: typeof budgetWords = {
  standard: {
    ratio: (ratio: string, point: string) =>
      `Fehlergrenze zu Messunsicherheit ${ratio}\u00a0:\u00a01 (kleinstes Verhältnis, bei ${point})`,
    needed: (ratio: string) =>
      `Das Verfahren verlangt ${ratio}\u00a0:\u00a01, Fehlergrenze zur erweiterten Messunsicherheit des Normals.`,
    unknown: "Das Verhältnis zur Fehlergrenze ließ sich für dieses Verfahren und Gerät nicht berechnen.",
    refused: "Nicht geeignet:",
    tooLow: (ratio: string, needed: string, point: string) =>
      `das Verhältnis von ${ratio}\u00a0:\u00a01 bei ${point} liegt unter den nötigen ${needed}\u00a0:\u00a01`,
    noSpecification: "zu seiner Messunsicherheit ist nichts angegeben",
    noStatement: (point: string, why: string) => (point === "" ? why : `${why} (${point})`),
    certified: (n: number) => `mit den ${n} Punkten seines Kalibrierscheins korrigiert`,
  },
  gravity: (measured: string, latitude: string, show: (n: string) => string) =>
    measured !== ""
      ? `Fallbeschleunigung ${show(measured)} m/s\u00b2, für diesen Standort gemessen.`
      : latitude !== ""
        ? `Fallbeschleunigung aus der Breite dieses Standorts, ${show(latitude)}\u00b0.`
        : "Für diesen Standort ist keine Fallbeschleunigung eingetragen: gerechnet wird mit der Normfallbeschleunigung.",
  uncertainty: "U",
  uncertaintyFull: "erweiterte Messunsicherheit",
  k: (k: string) => `k = ${k}`,
  open: "Messunsicherheitsbudget",
  sizes: "Angewandte Korrekturen",
  point: (p: string) => `Bei ${p}`,
  sum: (u: string, k: string) => `U = ${u}, k = ${k}`,
  dof: (n: string) => `effektive Freiheitsgrade ${n}`,
  probability: (p: string) => `Wahrscheinlichkeit innerhalb der Fehlergrenze ${p}`,
  ratio: (r: string) => `Fehlergrenze zu U ${r} : 1`,
  risk: (p: string) => `Risiko eines falschen Urteils an diesem Punkt ${p}`,
  riskAtLimit: (p: string) => `Risiko bei einer Abweichung, die gerade noch angenommen wird: ${p}.`,
  none: "Es wurde keine Messunsicherheit berechnet: zu der des Normals ist nichts angegeben.",
  columns: {
    name: "Unsicherheitsquelle",
    value: "Wert",
    shape: "Verteilung, Teiler",
    sensitivity: "Empfindlichkeit",
    contribution: "Beitrag",
    share: "Anteil",
    from: "Entnommen aus",
  },
  terms: {
    std: "Spezifikation des Normals",
    cert: "Kalibrierschein des Normals",
    interp: "Zwischen zwei Punkten des Kalibrierscheins",
    step: "Auflösung des Normals",
    drift: "Drift des Normals seit seiner Kalibrierung",
    res: "Auflösung der Ablesung",
    zero: "Nullpunktverschiebung, vorher und nachher",
    rep: "Wiederholbarkeit",
    repro: "Reproduzierbarkeit, neu montiert",
    hys: "Hysterese",
    temp: "Temperatureinfluss auf den Prüfling",
    head: "Höhenunterschied",
    grav: "Fallbeschleunigung",
    dens: "Dichte des Mediums in der Leitung",
    meter: "Messgerät am Ausgang",
    meter_step: "Auflösung des Messgeräts",
    meter_cert: "Kalibrierschein des Messgeräts",
    meter_interp: "Zwischen zwei Punkten des Kalibrierscheins des Messgeräts",
    meter_drift: "Drift des Messgeräts seit seiner Kalibrierung",
    baro: "Spezifikation des Barometers",
    baro_step: "Auflösung des Barometers",
    baro_cert: "Kalibrierschein des Barometers",
    baro_interp: "Zwischen zwei Punkten des Kalibrierscheins des Barometers",
    baro_drift: "Drift des Barometers seit seiner Kalibrierung",
    baro_once: "Luftdruck, einmal abgelesen",
  },
  shapes: {
    normal: "Normalverteilung",
    rectangular: "Rechteck",
    triangular: "Dreieck",
    "u-shaped": "U-förmig",
    trapezoidal: "Trapez",
    student: "Student-t",
  },
  from: (code: string) => (code.startsWith("standard.ranges") ? inRecord : (from[code] ?? code.replaceAll("_", " "))),
  corrections: {
    head: (size: string) => `Höhenunterschied: ${size}`,
    headBetween: (low: string, high: string) => `Höhenunterschied: ${low} bis ${high}, mit dem Druck zunehmend`,
    air: (density: string) =>
      `Luft von ${density} kg/m³, aus den eingetragenen Werten von Temperatur, Druck und Feuchte`,
    noAir: "der Luftauftrieb spielt keine Rolle: der Druck ist absolut oder die Leitung mit Flüssigkeit gefüllt",
    temperature: (percent: string) =>
      `Bei der eingetragenen Temperatur darf sich die Anzeige nach EN 837-1 um bis zu ${percent} % der Spanne ändern; weder Messwert noch Fehlergrenze werden dafür korrigiert.`,
    once: "Jede Korrektur wird einmal angewandt, auf den Druck des Normals. Die Messwerte bleiben wie eingetippt.",
    none: "Es wurde nichts korrigiert: die Drücke gelten wie eingetippt.",
    typed: "Wie eingetippt",
    judged: "Korrigiert",
    difference: "Korrektur",
    ofHead: "davon Höhe",
    ofCertificate: "davon Kalibrierschein",
  },
};
