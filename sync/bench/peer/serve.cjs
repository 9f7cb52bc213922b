// The peer's server with its database on disk. Usage: node serve.cjs PORT FOLDER
const express = require("express");
const { mkdirSync } = require("node:fs");
const { dirname, resolve } = require("node:path");
const PouchDB = require("pouchdb");

const [port, folder] = [Number(process.argv[2]), resolve(process.argv[3])];
mkdirSync(folder, { recursive: true });
const app = express();
// A page with the peer's client, for a browser.
app.use("/_client", express.static(resolve(dirname(require.resolve("pouchdb/package.json")), "dist")));
app.get("/_page", (_, reply) => reply.type("html").send('<!doctype html><script src="/_client/pouchdb.min.js"></script>'));
app.use("/", require("express-pouchdb")(PouchDB.defaults({ prefix: folder + "/" }), { mode: "minimumForPouchDB", inMemoryConfig: true }));
app.listen(port, "127.0.0.1", () => console.log("serving")).keepAliveTimeout = 60_000;
