import type { SyncReply } from "../wire/api";

export type Problem = "offline" | "portal" | "login" | "server" | "storage" | "older" | "newer" | "ended";

/** LinkError says why the office could not be reached, or why it refused. */
export class LinkError extends Error {
  readonly problem: Problem;
  readonly status: number;
  readonly code: string;
  readonly field: string;
  constructor(problem: Problem, status = 0, code = "", message: string = problem, field = "") {
    super(message);
    this.name = "LinkError";
    this.problem = problem;
    this.status = status;
    this.code = code;
    this.field = field;
  }
}

/** readReply gives a reply of the exchange, with the text of the changes in it. */
export async function readReply(response: Response): Promise<Partial<SyncReply>> {
  let text = "";
  const reply = (await readJson(response, (all) => {
    text = all;
  })) as Partial<SyncReply>;
  const changes = reply.given === undefined ? undefined : changesIn(text);
  return changes === undefined ? reply : { ...reply, text: changes };
}

/**
 * readJson gives the body of an answer of the office. Refuses: LinkError; `portal` if it is no
 * JSON.
 */
export async function readJson(response: Response, keep?: (text: string) => void): Promise<unknown> {
  const kind = response.headers.get("content-type") ?? "";
  if (!kind.startsWith("application/json"))
    throw new LinkError(response.status >= 500 ? "server" : "portal", response.status);
  let body: unknown;
  try {
    const text = await response.text();
    body = JSON.parse(text);
    keep?.(text);
  } catch {
    throw new LinkError("portal", response.status);
  }
  if (response.ok) return body;
  const error = (body as { error?: { code?: string; message?: string; field?: string } }).error;
  throw new LinkError(
    response.status === 401 ? "login" : response.status === 426 ? "older" : "server",
    response.status,
    error?.code ?? "",
    error?.message ?? "",
    error?.field ?? "",
  );
}

/**
 * changesIn gives the text of a reply's changes as it came; undefined if the reply has another
 * form. Neither mark can occur unescaped within a JSON string.
 */
export function changesIn(text: string): string | undefined {
  const begin = '"changes":';
  const from = text.indexOf(`${begin}[{`);
  const to = text.lastIndexOf('],"time":');
  return from < 0 || to < from ? undefined : text.slice(from + begin.length, to + 1);
}
