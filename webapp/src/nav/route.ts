import { useEffect, useState } from "preact/hooks";

export type Route =
  | { kind: "round" }
  | { kind: "find" }
  | { kind: "device" }
  | { kind: "label"; label: string }
  | { kind: "instrument"; id: string }
  | { kind: "visit"; id: string }
  | { kind: "programmes"; id?: string }
  | { kind: "office"; path: string }
  | { kind: "help"; page?: string }
  | { kind: "missing" };

/** readRoute gives the screen of a path. */
export function readRoute(path: string): Route {
  const parts = path.split("/").filter((p) => p !== "");
  const [first, second] = parts;
  if (first === "office") return { kind: "office", path };
  if (parts.length > 2) return { kind: "missing" };
  if (second === undefined) {
    switch (first) {
      case undefined:
      case "round":
        return { kind: "round" };
      case "find":
        return { kind: "find" };
      case "device":
        return { kind: "device" };
      case "programmes":
        return { kind: "programmes" };
      case "help":
        return { kind: "help" };
      default:
        return { kind: "missing" };
    }
  }
  let id: string;
  try {
    id = decodeURIComponent(second);
  } catch {
    return { kind: "missing" };
  }
  switch (first) {
    case "t":
      return { kind: "label", label: id.toLowerCase() };
    case "instrument":
      return { kind: "instrument", id };
    case "programmes":
      return { kind: "programmes", id };
    case "visit":
      return { kind: "visit", id };
    case "help":
      return { kind: "help", page: id };
    default:
      return { kind: "missing" };
  }
}

const moved = "gaugewright:moved";

/** navigate shows another path without reloading the page. */
export function navigate(path: string, replace = false): void {
  if (replace) history.replaceState(null, "", path);
  else history.pushState(null, "", path);
  dispatchEvent(new Event(moved));
}

/** usePath follows the address. It also handles clicks on links to our own paths. */
export function usePath(): string {
  const [path, set] = useState(location.pathname);
  useEffect(() => {
    const read = () => set(location.pathname);
    const click = (e: MouseEvent) => {
      const a = e.target instanceof Element ? e.target.closest("a") : null;
      const plain = e.button === 0 && !e.metaKey && !e.ctrlKey && !e.shiftKey && !e.altKey && !e.defaultPrevented;
      if (!a || !plain || a.target !== "" || a.hasAttribute("download")) return;
      if (a.origin !== location.origin || a.pathname.startsWith("/api/") || a.hash !== "") return;
      e.preventDefault();
      navigate(a.pathname + a.search);
    };
    addEventListener("popstate", read);
    addEventListener(moved, read);
    document.addEventListener("click", click);
    return () => {
      removeEventListener("popstate", read);
      removeEventListener(moved, read);
      document.removeEventListener("click", click);
    };
  }, []);
  return path;
}
