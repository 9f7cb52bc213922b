// A PostgreSQL server of its own for a measurement, with its usual settings: each commit is synced.
import { execFileSync, spawn } from "node:child_process";
import { chownSync, existsSync, mkdirSync, openSync, readdirSync } from "node:fs";
import { connect } from "node:net";
import { join } from "node:path";

/** programs is the folder of the server's programs on Debian. */
function programs() {
  const versions = "/usr/lib/postgresql";
  const newest = existsSync(versions) ? readdirSync(versions).sort((a, b) => Number(a) - Number(b)).at(-1) : undefined;
  if (newest === undefined) throw new Error("PostgreSQL's server programs are not installed");
  return join(versions, newest, "bin");
}

/** idOf is a user's or a group's number: the server refuses to run as root. */
const idOf = (flag) => Number(execFileSync("id", [flag, "postgres"], { encoding: "utf8" }));

/**
 * postgres starts a server in a new folder. plant gives the address of another plant in it; end stops
 * the server.
 */
export async function postgres(folder) {
  const bin = programs();
  mkdirSync(folder);
  const as = process.getuid() === 0 ? { uid: idOf("-u"), gid: idOf("-g") } : {};
  if (as.uid !== undefined) chownSync(folder, as.uid, as.gid);
  const data = join(folder, "data");
  const run = (program, ...args) =>
    execFileSync(join(bin, program), args, { ...as, cwd: folder, stdio: ["ignore", "ignore", "inherit"] });
  run("initdb", "-D", data, "-A", "trust", "-U", "gauges", "-E", "UTF8", "--locale=C");
  const log = openSync(join(folder, "log"), "a", 0o644);
  const server = spawn(
    join(bin, "postgres"),
    ["-D", data, "-c", "listen_addresses=", "-c", `unix_socket_directories=${folder}`, "-c", "max_connections=200"],
    { ...as, cwd: folder, stdio: ["ignore", log, log] },
  );
  const socket = join(folder, ".s.PGSQL.5432");
  const listens = () =>
    new Promise((done) => {
      const c = connect(socket, () => (c.destroy(), done(true))).on("error", () => done(false));
    });
  for (let i = 0; !(await listens()); i++) {
    if (i === 200 || server.exitCode !== null) throw new Error(`PostgreSQL does not begin: see ${join(folder, "log")}`);
    await new Promise((done) => setTimeout(done, 50));
  }
  let plants = 0;
  return {
    server,
    plant: () =>
      `postgres://gauges@/postgres?plant=p${++plants}&sslmode=disable&host=${encodeURIComponent(folder)}`,
    end: () => new Promise((done) => (server.on("exit", done), server.kill("SIGINT"))),
  };
}
