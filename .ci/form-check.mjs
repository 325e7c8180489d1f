// The form of Findslip Simple in a real browser: what is typed becomes the report, faults are said, and nothing is fetched.
// Usage: node form-check.mjs REPORT [PICTURE] (writes the report that the form makes; with PICTURE what it looks like)
import { writeFileSync } from "node:fs";
import { resolve } from "node:path";
import { pathToFileURL } from "node:url";
import { chromium } from "./chromium.mjs";

const page = await chromium();
try {
  await page.width(390);
  await page.open(pathToFileURL(resolve("examples/simple/form.html")).href);
  await page.until("document.readyState === 'complete' && !!document.getElementById('form')", "the form");
  const fill = (values) => page.evaluate(`for (const [name, value] of Object.entries(${JSON.stringify(values)})) form.elements[name].value = value`);
  const submit = () => page.evaluate("form.requestSubmit(); said.textContent");
  const expect = async (want, what) => {
    const got = await submit();
    if (!got.includes(want)) throw new Error(`${what}: the form says ${JSON.stringify(got)}`);
  };
  await expect("number on the bag", "an empty form");
  await fill({ number: "12a", longitude: "-1.2248" });
  await expect("radius", "a spot without its radius");
  await fill({ name: "crotal bell", day: "2026-04-12", place: "Long Furlong", latitude: "52,50655", uncertainty: "5", depth: "7-9 in", material: "green metal", finder: "finder-a", picture: "12a.jpg" });
  await page.evaluate("form.querySelectorAll('[name=notMeasured]')[1].checked = true");
  await expect("1 find is", "a find");
  await fill({ number: "13", name: "lead token", depth: "more than a foot", weight: "6.25 g" });
  await expect("2 finds are", "a second find");
  writeFileSync(process.argv[2], await page.evaluate("report()"));
  if (process.argv[3]) await page.picture(process.argv[3]);
  const asked = page.heard.filter((m) => m.method === "Network.requestWillBeSent" && !/^(file|blob|data):/.test(m.params.request.url));
  if (asked.length > 0) throw new Error(`the form asks for ${asked[0].params.request.url}`);
  console.log("the form: two finds, two faults that are said, nothing fetched");
} finally {
  await page.close();
}
