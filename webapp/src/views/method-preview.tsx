import { useLive } from "../store/hooks";
import { keyTo } from "../store/shelf";
import { byKey } from "../store/store";
import { object, type RecordState } from "../wire/records";
import { PlanPreview } from "./plan-preview";

/**
 * MethodPreview shows a method's plan on the first instrument that has the method; nothing if there
 * is none.
 */
export function MethodPreview({ method }: { method: RecordState }) {
  const [instrument] =
    useLive(
      () => byKey(keyTo.method(method.id), 1),
      (n) => n.kinds.includes("instrument"),
      [method.id],
    ) ?? [];
  return instrument ? (
    <PlanPreview method={method} definition={object(method, "definition")} instrument={instrument} />
  ) : null;
}
