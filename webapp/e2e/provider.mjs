// An OpenID Connect provider for the browser tests, on another site than the office's. It knows one
// person at a time and shows a page before it lets them continue.
import { createHash, createSign, generateKeyPairSync, randomUUID } from "node:crypto";
import { createServer } from "node:http";

const b64 = (v) => Buffer.from(typeof v === "string" ? v : JSON.stringify(v)).toString("base64url");

/** Provider answers for its `person`; `client` is the only client that it knows. */
export class Provider {
  client = "gaugewright-office";
  person = { sub: "s-1", preferred_username: "somebody" };
  codes = new Map();

  async start() {
    const { publicKey, privateKey } = generateKeyPairSync("rsa", { modulusLength: 2048 });
    this.key = privateKey;
    this.jwk = { ...publicKey.export({ format: "jwk" }), kid: "one", alg: "RS256", use: "sig" };
    this.server = createServer((ask, answer) => void this.answer(ask, answer));
    await new Promise((done) => this.server.listen(0, "127.0.0.1", done));
    this.url = `http://127.0.0.1:${this.server.address().port}`;
  }

  stop() {
    return new Promise((done) => {
      this.server.close(done);
      this.server.closeAllConnections();
    });
  }

  async answer(ask, answer) {
    const at = new URL(ask.url, this.url);
    const json = (body, status = 200) =>
      answer.writeHead(status, { "content-type": "application/json" }).end(JSON.stringify(body));
    switch (at.pathname) {
      case "/.well-known/openid-configuration":
        return json({
          issuer: this.url,
          authorization_endpoint: `${this.url}/authorize`,
          token_endpoint: `${this.url}/token`,
          jwks_uri: `${this.url}/jwks`,
          response_types_supported: ["code"],
          subject_types_supported: ["public"],
          id_token_signing_alg_values_supported: ["RS256"],
        });
      case "/jwks":
        return json({ keys: [this.jwk] });
      case "/authorize": {
        const code = randomUUID();
        this.codes.set(code, Object.fromEntries(at.searchParams));
        const back = new URL(at.searchParams.get("redirect_uri"));
        back.search = new URLSearchParams({ code, state: at.searchParams.get("state") });
        answer.writeHead(200, { "content-type": "text/html" });
        return answer.end(`<!doctype html><title>log in</title><a href="${back.href.replaceAll("&", "&amp;")}">go on</a>`);
      }
      case "/token": {
        const chunks = [];
        for await (const c of ask) chunks.push(c);
        const given = new URLSearchParams(Buffer.concat(chunks).toString());
        const asked = this.codes.get(given.get("code"));
        this.codes.delete(given.get("code"));
        const proof = createHash("sha256").update(given.get("code_verifier") ?? "").digest("base64url");
        if (asked?.client_id !== this.client || asked.code_challenge !== proof) return json({ error: "invalid_grant" }, 400);
        const now = Math.floor(Date.now() / 1000);
        const claims = { iss: this.url, aud: this.client, iat: now, exp: now + 300, nonce: asked.nonce, ...this.person };
        const text = `${b64({ alg: "RS256", kid: "one" })}.${b64(claims)}`;
        const signature = createSign("RSA-SHA256").update(text).sign(this.key).toString("base64url");
        return json({ access_token: randomUUID(), token_type: "Bearer", id_token: `${text}.${signature}` });
      }
      default:
        return json({ error: "not_found" }, 404);
    }
  }
}
