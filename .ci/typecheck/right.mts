// Every function of the wrapper, used rightly; compiled under strict, never run.
import { Findslip } from "./findslip.mjs";
import type { Converted, Deadline, Format, Notice, Options, Reading, Report } from "./findslip.mjs";

const options: Options = {
  level: "full", asOf: "2026-04-12", from: "csv", dateOrder: "dmy", unit: "in", system: "EPSG:27700", pivot: 1970, serial: "1904", sheet: "Finds", encoding: "windows-1252",
  plain: true, language: "de",
};

export async function all(file: File): Promise<string[]> {
  const findslip: Findslip = new Findslip();
  new Findslip("./parts/").close();
  new Findslip(new URL("https://example.org/parts/")).close();
  const loaded: void = await findslip.ready;
  const report: Report = await findslip.check(file.name, await file.arrayBuffer(), options);
  const again: Report = await findslip.check("a.csv", new Uint8Array([49]));
  const said: string[] = report.notices.map((n: Notice): string => `${n.code} ${n.severity} ${n.cell ?? n.pointer ?? ""} ${n.row?.toFixed() ?? ""} ${n.message}`);
  const number: number = again.summary.finds + again.summary.notChecked + (again.notChecked?.[0]?.times ?? 0);
  const due: string[] = (report.deadlines ?? []).map((d: Deadline): string => `${d.day ?? d.time ?? ""} ${d.what} ${d.daysLeft?.toFixed() ?? ""} ${d.source} ${d.find ?? ""}`);
  const to: Format = "xlsx";
  const format: string = to;
  const converted: Converted = await findslip.convert(file.name, new Uint8Array(), to, { level: "bag" });
  const bytes: Blob = new Blob([new Uint8Array(converted.content)]);
  const one: Reading[] = await findslip.read("length", "8 1/2 in");
  const many: Reading[] = await findslip.read("dating", ["c. 1350", "late 17th century"], { asOf: "2026-04-12" });
  const inputs: string[] = [...one, ...many].map((r) => r.error?.message ?? r.input);
  findslip.close();
  return [...said, ...due, ...inputs, format, String(number), String(bytes.size), String(loaded), ...converted.report.levelsMet];
}
