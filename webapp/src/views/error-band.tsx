import { errorIn, useFigures } from "../nav/use-figures";
import { LimitBand, type LimitBandProps } from "../parts/limit-band";

type Props = Omit<LimitBandProps, "shown" | "last"> & { last?: { error: number; on: string } | undefined };

/** ErrorBand draws an error in its limit band, with numbers rounded by the module. */
export function ErrorBand({ last, ...p }: Props) {
  const figures = useFigures([errorIn(p), ...(last ? [errorIn({ ...p, error: last.error })] : [])]);
  const [now, then] = figures.map((f) => f.value);
  return <LimitBand {...p} shown={now ?? ""} last={last && { ...last, shown: then ?? "" }} />;
}
