// node browser-size.mjs PROGRAM.wasm: what the program of the page weighs when it is sent. Brotli at its best has to stay under 2 MiB.
import { readFileSync } from "node:fs";
import { brotliCompressSync, constants, gzipSync } from "node:zlib";

const most = 2 * 1024 * 1024;
const program = readFileSync(process.argv[2]);
const params = { [constants.BROTLI_PARAM_QUALITY]: 11, [constants.BROTLI_PARAM_LGWIN]: 24, [constants.BROTLI_PARAM_SIZE_HINT]: program.length };
const small = brotliCompressSync(program, { params }).length;
console.log(`${program.length} bytes, ${gzipSync(program, { level: 9 }).length} by gzip -9, ${small} by Brotli at its best, where ${most} are allowed`);
process.exit(small < most ? 0 : 1);
