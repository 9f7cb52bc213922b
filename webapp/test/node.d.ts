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
    doesNotMatch(got: string, want: RegExp): void;
    rejects(p: Promise<unknown>, want?: Expected | string): Promise<void>;
    fail(message: string): never;
  };
  export default assert;
}
declare module "node:fs" {
  export function readFileSync(path: string, encoding: "utf8"): string;
  export function readFileSync(path: string): Uint8Array<ArrayBuffer>;
  export function readdirSync(path: string, options?: { recursive?: boolean }): string[];
}
declare module "node:fs/promises" {
  export function readFile(path: URL): Promise<Uint8Array<ArrayBuffer>>;
  export function readFile(path: string, encoding: "utf8"): Promise<string>;
}
declare module "node:timers/promises" {
  export function setTimeout(ms: number, value: undefined, options: { signal: AbortSignal }): Promise<undefined>;
}
declare module "node:crypto" {
  type PublicKey = { readonly type: "public" };
  export function createPublicKey(from: { key: Record<string, string>; format: "jwk" }): PublicKey;
  export function verify(algorithm: null, data: Uint8Array, key: PublicKey, signature: Uint8Array): boolean;
}
