import { type ChildProcess, execFile, spawn } from "node:child_process";
import { once } from "node:events";
import { mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { createInterface } from "node:readline";
import { promisify } from "node:util";

/** The program as it is shipped, serving an empty programme from a folder of its own. */
export interface Server {
  readonly url: string;
  /** Makes the first account. */
  readonly code: string;
  stop(): Promise<void>;
}

/** Builds the program, starts it on a free port and waits until it answers. Tests run in web/client. */
export async function startServer(): Promise<Server> {
  const dir = await mkdtemp(join(tmpdir(), "thwart-client-"));
  let child: ChildProcess | undefined;
  const stop = async () => {
    if (child && child.exitCode === null && child.signalCode === null) {
      const gone = once(child, "exit");
      child.kill();
      await gone;
    }
    await rm(dir, { recursive: true });
  };
  try {
    const binary = join(dir, "thwart");
    await promisify(execFile)(process.env["GO"] ?? "go", ["build", "-o", binary, "./cmd/thwart"], { cwd: "../.." });
    const args = ["serve", "--fresh", "--dir", join(dir, "records"), "--addr", "127.0.0.1:0", "--log", "error"];
    child = spawn(binary, args, { stdio: ["ignore", "pipe", "inherit"] });
    let code: string | undefined;
    for await (const line of createInterface({ input: child.stdout! })) {
      code ??= /^ {4}(\S+)$/.exec(line)?.[1];
      const url = /^Open (\S+)$/.exec(line)?.[1];
      if (url && code) return { url, code, stop };
    }
    throw new Error("the server ended before it said where it listens");
  } catch (error) {
    await stop();
    throw error;
  }
}

/** Does what a browser does and Node does not: keeps the cookie that the server sets and sends it back. */
export function cookieFetch(): (request: Request) => Promise<Response> {
  let cookie = "";
  return async (request) => {
    if (cookie) request.headers.set("Cookie", cookie);
    const response = await fetch(request);
    for (const set of response.headers.getSetCookie()) cookie = set.split(";")[0]!;
    return response;
  };
}
