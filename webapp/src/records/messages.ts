import { asObject, asText, heads, type RecordState, value } from "../wire/records";

/** A message about an instrument. Its change says who wrote it and when. */
export type Message = {
  id: string;
  text: string;
  by: string;
  at: string;
  stamp: string;
  change: string;
  seen: string[];
};

/** The most characters of a message; the server has the same limit. */
export const longMessage = 1000;

/** messagesOf gives the messages about an instrument, in the order in which they were written. */
export function messagesOf(instrument: RecordState): Message[] {
  const list: Message[] = [];
  const names = Object.keys(instrument.fields);
  for (const name of names) {
    const head = name.startsWith("message.") ? heads(instrument, name)[0] : undefined;
    if (!head) continue;
    const id = name.slice("message.".length);
    const marks = `seen.${id}.`;
    const seen = names.filter((n) => n.startsWith(marks) && value(instrument, n) === true);
    list.push({
      id,
      text: asText(asObject(head.value)["text"]),
      by: head.author,
      at: head.wall,
      stamp: head.stamp,
      change: head.change,
      seen: seen.map((n) => n.slice(marks.length)),
    });
  }
  return list.sort((a, b) => (a.stamp < b.stamp ? -1 : 1));
}

/** unseenBy gives the messages of others that a person has not seen. */
export function unseenBy(instrument: RecordState, user: string): Message[] {
  return messagesOf(instrument).filter((m) => m.by !== user && !m.seen.includes(user));
}
