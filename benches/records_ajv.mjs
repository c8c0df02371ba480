// Times what ajv spends on validating records against their schema, on one core: alone, and with reading and parsing.
import { createRequire } from "node:module";
import { readFileSync, readdirSync } from "node:fs";
import path from "node:path";

const [modules, folder] = process.argv.slice(2);
const require = createRequire(path.resolve(modules, "node_modules", "x.js"));
const Ajv = require("ajv/dist/2020").default;
const formats = require("ajv-formats").default;

const schema = JSON.parse(readFileSync("schemas/record.schema.json", "utf8"));
const ajv = new Ajv({ allErrors: false, strict: false });
formats(ajv);
const validate = ajv.compile(schema);
const files = readdirSync(folder).filter((name) => name.endsWith(".json")).map((name) => path.join(folder, name));

// The compiler of the engine warms up on the first thousand.
let spent = 0n;
let whole = 0n;
let n = 0;
for (const [index, file] of files.entries()) {
  const began = process.hrtime.bigint();
  const record = JSON.parse(readFileSync(file, "utf8"));
  const parsed = process.hrtime.bigint();
  if (!validate(record)) throw new Error(`${file}: ${JSON.stringify(validate.errors)}`);
  const done = process.hrtime.bigint();
  if (index >= Math.min(1000, files.length / 2)) {
    spent += done - parsed;
    whole += done - began;
    n += 1;
  }
}
const rate = (nanoseconds) => Math.round(n / (Number(nanoseconds) / 1e9));
console.log(`  ajv: validates ${rate(spent)} records/s, with reading and parsing ${rate(whole)}`);
