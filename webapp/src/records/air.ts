import { asObject, asText, type Json } from "../wire/records";

/**
 * airBeside gives the pressure of the air as the calculations take it where a barometer is beside a
 * gauge standard: what is read of the standard counts from it.
 */
export function airBeside(barometer: Json | undefined, surroundings: Json | undefined): { air_hpa?: string } {
  const air = asText(asObject(surroundings)["pressure_hpa"]);
  return Object.keys(asObject(barometer)).length > 0 && air !== "" ? { air_hpa: air } : {};
}
