import type { WorkOrder } from "../records/orders";
import { ordersWords as w } from "../words/orders";
import { showDate } from "../words/words";

/** orderLine writes in one line what a work order asks for. */
export function orderLine(o: Pick<WorkOrder, "number" | "wanted" | "priority">): string {
  return [
    w.order(o.number),
    o.priority === "normal" || o.priority === "" ? "" : (w.priorities[o.priority] ?? o.priority),
    o.wanted === "" ? "" : w.wanted(showDate(o.wanted)),
  ]
    .filter(Boolean)
    .join(" · ");
}

/** Orders are the work orders on an instrument. */
export function Orders({ orders }: { orders: readonly WorkOrder[] }) {
  return (
    <ul class="orders" aria-label={w.title}>
      {orders.map((o) => (
        <li key={o.number}>
          <strong>{orderLine(o)}</strong>
          {o.text === "" ? null : (
            <>
              <br />
              {o.text}
            </>
          )}
          {o.from === "" ? null : <span class="small quiet">{` ${w.from(o.from)}`}</span>}
        </li>
      ))}
    </ul>
  );
}
