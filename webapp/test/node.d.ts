// The few parts of Node that the tests use.
declare module "node:test" {
  export function test(name: string, fn: () => void | Promise<void>): void;
  export function beforeEach(fn: () => void | Promise<void>): void;
}
declare module "node:assert/strict" {
  type Expected = RegExp | { name?: string; code?: string } | ((e: unknown) => boolean);
  const assert: {
    ok(v: unknown, message?: string): void;
    equal<T>(got: T, want: T, message?: string): void;
    deepEqual(got: unknown, want: unknown, message?: string): void;
    notDeepEqual(got: unknown, want: unknown, message?: string): void;
    match(got: string, want: RegExp): void;
    rejects(p: Promise<unknown>, want?: Expected): Promise<void>;
    fail(message: string): never;
  };
  export default assert;
}
declare module "node:fs" {
  export function readFileSync(path: string, encoding: "utf8"): string;
}
declare module "node:fs/promises" {
  export function readFile(path: URL): Promise<Uint8Array<ArrayBuffer>>;
}
