import { Check } from "../../parts/check";
import { useKind } from "../../store/hooks";
import { text } from "../../wire/records";
import { machinesWords as w } from "../../words/machines";

/** useSites gives the plant's sites with what each is called, by the names. */
export function useSites(): [id: string, name: string][] {
  const known = (useKind("site") ?? []).map((s): [string, string] => [s.id, text(s, "name") || text(s, "code")]);
  return known.sort((a, b) => a[1].localeCompare(b[1]));
}

/** atSites writes at which sites something serves; none are the whole plant. */
export function atSites(sites: readonly string[], known: readonly [string, string][]): string {
  return sites.map((id) => known.find((s) => s[0] === id)?.[1] ?? id).join(", ") || w.wholePlant;
}

type Props = { known: readonly [string, string][]; chosen: readonly string[]; onChange: (sites: string[]) => void };

/** SitesOf asks at which sites something serves; a plant without sites is not asked. */
export function SitesOf({ known, chosen, onChange }: Props) {
  if (known.length === 0) return null;
  return (
    <fieldset class="sites">
      <legend>{w.sites}</legend>
      {known.map(([id, name]) => (
        <Check
          key={id}
          label={name}
          checked={chosen.includes(id)}
          onChange={(on) => onChange(on ? [...chosen, id] : chosen.filter((x) => x !== id))}
        />
      ))}
      <p class="small quiet">{w.sitesHint}</p>
    </fieldset>
  );
}
