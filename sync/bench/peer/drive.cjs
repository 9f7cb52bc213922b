// The peer's client: databases on disk and their replication. Every function gives the milliseconds it took.
const http = require("node:http");
const PouchDB = require("pouchdb");

const now = () => Number(process.hrtime.bigint()) / 1e6;
const timed = async (work) => {
  const t = now();
  await work();
  return now() - t;
};

module.exports = async ({ url, folder, run, batch }) => {
  const agent = new http.Agent({ keepAlive: true, maxSockets: 64 });
  const remote = (name) => new PouchDB(`${url}/${name}`, { fetch: (u, o) => PouchDB.fetch(u, { ...o, agent }) });
  const local = (name) => new PouchDB(`${folder}/${run}-${name}`);
  const post = (path, body) =>
    new Promise((done, failed) => {
      const headers = { "content-type": "application/json", "content-length": Buffer.byteLength(body) };
      const q = http.request(url + path, { method: "POST", agent, headers }, (r) => {
        r.resume();
        r.on("end", () => (r.statusCode < 300 ? done() : failed(new Error(`${path}: ${r.statusCode}`))));
      });
      q.on("error", failed);
      q.end(body);
    });
  const bulk = async (name, list) => {
    for (let i = 0; i < list.length; i += batch) await post(`/${name}/_bulk_docs`, JSON.stringify({ docs: list.slice(i, i + batch) }));
  };
  const options = { batch_size: batch, batches_limit: 10 };
  const main = remote(`main${run}`);
  await main.info();
  const a = local("a");
  let b;
  return {
    async raw(list) {
      await remote(`raw${run}`).info();
      return timed(() => bulk(`raw${run}`, list));
    },
    async push(list) {
      for (let i = 0; i < list.length; i += batch) await a.bulkDocs(list.slice(i, i + batch));
      return timed(() => a.replicate.to(main, options));
    },
    pull: () => timed(async () => {
      b = local("b");
      await b.replicate.from(main, options);
    }),
    idle: () => timed(() => b.replicate.from(main, options)),
    async few(list) {
      return timed(async () => {
        await a.bulkDocs(list);
        await a.replicate.to(main, options);
        await b.replicate.from(main, options);
      });
    },
    async many(lists) {
      await remote(`many${run}`).info();
      return timed(() => Promise.all(lists.map((l) => bulk(`many${run}`, l))));
    },
    async stored() {
      return (await b.info()).doc_count;
    },
  };
};
