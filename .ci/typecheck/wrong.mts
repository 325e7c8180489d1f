// Wrong uses. The compiler has to refuse each line below a mark; a mark above a line that it takes fails.
import { Findslip } from "./findslip.mjs";
import type { Notice, Report } from "./findslip.mjs";

const findslip = new Findslip();

// @ts-expect-error a folder is a text or a URL
new Findslip(7);
// @ts-expect-error check wants the content too
findslip.check("a.csv");
// @ts-expect-error content is bytes, not text
findslip.check("a.csv", "Number,Depth");
// @ts-expect-error there is no such level
findslip.check("a.csv", new Uint8Array(), { level: "museum" });
// @ts-expect-error there is no such option
findslip.check("a.csv", new Uint8Array(), { colour: "green" });
// @ts-expect-error the year of the pivot is a number
findslip.check("a.csv", new Uint8Array(), { pivot: "1970" });
// @ts-expect-error there is no such format
findslip.convert("a.csv", new Uint8Array(), "docx");
// @ts-expect-error convert wants a format
findslip.convert("a.csv", new Uint8Array());
// @ts-expect-error there is no such kind of reading
findslip.read("colour", "green");
// @ts-expect-error texts are texts
findslip.read("length", [8]);
// @ts-expect-error an answer has to be waited for
export const report: Report = findslip.check("a.csv", new Uint8Array());
// @ts-expect-error no one else settles it
findslip.ready = Promise.resolve();
// @ts-expect-error close waits for nothing
findslip.close().then();
// @ts-expect-error a notice always has a message
export const notice: Notice = { code: "x", severity: "error", title: "x" };
// @ts-expect-error there is no such severity
export const severity: Notice["severity"] = "fatal";
// @ts-expect-error a cell may be missing
export const cell: string = (await findslip.check("a.csv", new Uint8Array())).notices[0].cell;
