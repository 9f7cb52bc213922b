import { useKind } from "../../store/hooks";
import { object, type RecordState, text } from "../../wire/records";
import { PlanPreview } from "./plan-preview";

/** MethodPreview shows a method's plan on the first instrument that is tested by it; nothing where there is none. */
export function MethodPreview({ method }: { method: RecordState }) {
  const instrument = useKind("instrument")?.find((i) => text(i, "method") === method.id);
  return instrument ? <PlanPreview method={method} definition={object(method, "definition")} instrument={instrument} /> : null;
}
