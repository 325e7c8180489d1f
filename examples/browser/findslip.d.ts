/** Options of reading and judging; those of the command, by the names of its flags. */
export interface Options {
  level?: "bag" | "log" | "full";
  /** The day that counts as today, such as 2026-04-12. */
  asOf?: string;
  from?: Format;
  dateOrder?: "dmy" | "mdy" | "ymd";
  unit?: "mm" | "cm" | "m" | "in" | "ft" | "yd" | "mg" | "g" | "kg" | "gr" | "oz" | "ozt" | "dwt" | "lb";
  /** Grid of bare eastings and northings, such as EPSG:27700. */
  system?: string;
  /** First year that two digits may mean. */
  pivot?: number;
  serial?: "1900" | "1904";
  sheet?: string;
  encoding?: string;
  /** the language that the log is written in, such as "de"; without it, it is found out */
  logLanguage?: string;
  /** Of what is said: en, de, nl, fr, da or sv. */
  language?: string;
  /** Tables without the canonical columns. */
  plain?: boolean;
}

export type Format = "findslip" | "jsonl" | "geojson" | "csv" | "gpx" | "kml" | "xlsx";

export interface Notice {
  code: string;
  severity: "error" | "warning" | "info";
  caution?: boolean;
  title: string;
  message: string;
  help?: string;
  proposals?: string[];
  spec?: string;
  file?: string;
  pointer?: string;
  sheet?: string;
  cell?: string;
  row?: number;
  column?: number;
  heading?: string;
  line?: number;
  find?: string;
  reason?: string;
}

/** A time limit to report. The table it is taken from may be incomplete: the local authority decides. */
export interface Deadline {
  /** The last day, such as 2026-04-26; missing where the source gives words only. */
  day?: string;
  /** The words of the source. */
  time?: string;
  /** What is to be done, and with whom. */
  what: string;
  status: "open" | "past" | "reported";
  /** Days until the day; below zero when it is past. */
  daysLeft?: number;
  source: string;
  /** When the source was read. */
  checked?: string;
  file?: string;
  pointer?: string;
  sheet?: string;
  cell?: string;
  row?: number;
  line?: number;
  find?: string;
}

export interface Verdict {
  language: string;
  text: string;
  jobs: number;
  notChecked?: { what: string; allow: string; codes: string[] }[];
  goodFor?: "bag" | "log" | "full";
  next?: "bag" | "log" | "full";
  lacks?: string[];
}

export interface Group {
  code: string;
  severity: "error" | "warning" | "info";
  caution?: boolean;
  file?: string;
  field?: string;
  say: string;
  do?: string;
  count: number;
  new?: number;
  examples: { pointer?: string; sheet?: string; cell?: string; row?: number; line?: number; find?: string; written?: string }[];
  values?: { text: string; count: number }[];
}

/** The report of notices; its schema is published as notices.schema.json. */
export interface Report {
  noticesVersion: string;
  tool: string;
  asOf?: string;
  level?: string;
  levelsMet: string[];
  summary: { finds: number; errors: number; warnings: number; info: number; cautions: number; dangers: number; notChecked: number };
  /** What a person reads first. */
  verdict: Verdict;
  /** Each thing that was said once, with its exact count and its first ten places. */
  groups: Group[];
  notChecked?: { code: string; times: number }[];
  /** Settings that are not as they are by default. */
  settings?: { name: string; value: string; default: string }[];
  truncated: boolean;
  /** Time limits to report, by day. */
  deadlines?: Deadline[];
  accepted?: Notice[];
  notices: Notice[];
}

export interface Converted {
  content: Uint8Array;
  report: Report;
  /** What the format could not hold, by field. */
  lost: { what: string; times: number }[];
}

export type Audience = "self" | "partner" | "club" | "landowner" | "expert" | "recorder" | "public";

export interface Season {
  /** A page to print and to show. */
  page: Uint8Array;
  /** Its figures, as findslip season writes them to JSON. */
  figures: { totals: { finds: number; objects: number; outings: number; hours: number }; [figure: string]: unknown };
  /** The finds that are left out, and why: for the owner, not to be handed on. */
  left: string[];
}

/** What is made of one text; the members are those of the format. */
export interface Reading {
  input: string;
  absent?: string;
  error?: { code: string; message: string; help?: string };
  notices?: { code: string; severity: string; message: string }[];
  [member: string]: unknown;
}

export declare class Findslip {
  /** Starts the worker at once. The folder holds worker.mjs, wasm_exec.js and findslip.wasm. */
  constructor(folder?: string | URL);
  /** Settles when the program is loaded. */
  readonly ready: Promise<void>;
  /** Says what a careful recorder would ask about. Rejects when the file cannot be read. */
  check(name: string, content: ArrayBuffer | Uint8Array, options?: Options): Promise<Report>;
  convert(name: string, content: ArrayBuffer | Uint8Array, to: Format, options?: Options): Promise<Converted>;
  /** A year on one page, for an audience; without one, no place is told. */
  season(name: string, content: ArrayBuffer | Uint8Array, audience?: Audience, options?: Options): Promise<Season>;
  read(kind: "length" | "weight" | "date" | "dating" | "position" | "material", texts: string | string[], options?: Options): Promise<Reading[]>;
  /** Ends the worker. */
  close(): void;
}
