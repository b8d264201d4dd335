// Runs a program for wasm32-wasip1 with Node.js: node tests/bits/wasi.mjs PROGRAM.wasm
import { readFile } from "node:fs/promises";
import { argv, exit } from "node:process";
import { WASI } from "node:wasi";

const wasi = new WASI({ version: "preview1", args: ["program"] });
const program = await WebAssembly.compile(await readFile(argv[2]));
exit(wasi.start(await WebAssembly.instantiate(program, wasi.getImportObject())));
