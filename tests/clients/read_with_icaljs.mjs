// Reads a calendar file with ical.js and prints what it holds as JSON.
// Arguments: the node_modules folder that holds ical.js, the file.
import { readFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { pathToFileURL } from "node:url";

const [folder, file] = process.argv.slice(2);
const library = pathToFileURL(join(resolve(folder), "ical.js", "dist", "ical.js"));
const { default: ICAL } = await import(library.href);
ICAL.design.strict = true;

const calendar = new ICAL.Component(ICAL.parse(readFileSync(file, "utf8")));
const events = calendar.getAllSubcomponents("vevent").map((component) => {
  const event = new ICAL.Event(component);
  return {
    uid: event.uid,
    summary: event.summary,
    description: event.description,
    start: event.startDate.toString(),
    end: event.endDate.toString(),
    allDay: event.startDate.isDate && event.endDate.isDate,
    categories: component.getAllProperties("categories").flatMap((each) => each.getValues()),
  };
});
process.stdout.write(JSON.stringify({ version: calendar.getFirstPropertyValue("version"), events }));
