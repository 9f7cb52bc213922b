import { asObject, asText, type Json } from "../wire/records";

/**
 * airBeside gives the air pressure for the calculations if a barometer is used with a
 * gauge-pressure standard, whose readings are relative to it.
 */
export function airBeside(barometer: Json | undefined, surroundings: Json | undefined): { air_hpa?: string } {
  const air = asText(asObject(surroundings)["pressure_hpa"]);
  return Object.keys(asObject(barometer)).length > 0 && air !== "" ? { air_hpa: air } : {};
}
