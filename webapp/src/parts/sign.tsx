import type { JSX } from "preact";

const face = <circle cx="12" cy="12" r="9" />;

/** The line signs of the kinds of work, 24 × 24. An unknown kind has a plain frame. */
const signs: { readonly [kind: string]: JSX.Element } = {
  gauge: (
    <>
      {face}
      <path d="M12 12l4-5M7 16h10" />
    </>
  ),
  transmitter: <path d="M4 4h16v11H4zM12 15v6M8 21h8M7 11l3-3 3 2 4-3" />,
  leak: <path d="M6 3h12v11H6zM9 18v1M12 17v4M15 18v1" />,
  switch: <path d="M2 16h6l8-8M16 16h6M16 13v6" />,
  burst: <path d="M3 15c0-4 18-4 18 0s-18 4-18 0M12 12V3M8 8l4-5 4 5" />,
  altimeter: <path d="M3 20l6-11 4 6 3-5 5 10zM12 3v3" />,
  airspeed: <path d="M3 8h11a3 3 0 1 0-3-3M3 13h15a3 3 0 1 1-3 3M3 18h6" />,
  "vertical-speed": <path d="M7 21V4M3 8l4-4 4 4M17 3v17M13 16l4 4 4-4" />,
  "reporting-altitude": <path d="M3 20h18M12 16V5M8 9l4-4 4 4M5 14a8 8 0 0 1 0-8M19 14a8 8 0 0 0 0-8" />,
  "pitot-static-leak": <path d="M3 9h12a4 4 0 0 1 4 4v1M3 14h9M19 17v1M15 18v1M19 21v1" />,
};

/** Sign is the line sign of a kind of work, with its name for screen readers. */
export function Sign({ kind, name }: { kind: string; name: string }) {
  return (
    <span class="sign">
      <svg viewBox="0 0 24 24" aria-hidden="true">
        {signs[kind] ?? <path d="M4 4h16v16H4z" />}
      </svg>
      <span class="unseen">{name}</span>
    </span>
  );
}
