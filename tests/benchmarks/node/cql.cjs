// Takes the latest value per LOINC code out of a Bundle with npm cql-execution; says how long it took.
// There is no translator from CQL text here, so the compiled form (ELM) is built by hand:
// Last([Observation: code] sorted by effective).value for every code.
const { createRequire } = require("node:module");
const load = createRequire(require("node:path").join(__dirname, "../../conformance/package.json"));
const cql = load("cql-execution");
const { PatientSource } = load("cql-exec-fhir");

const FHIR = "{http://hl7.org/fhir}";
const codes = process.argv.slice(2);

const path = (source, name) => ({ type: "Property", path: name, source });
const alias = { type: "AliasRef", name: "O" };

function latest(code) {
  return {
    name: code,
    context: "Patient",
    accessLevel: "Public",
    expression: {
      type: "Last",
      source: {
        type: "Query",
        source: [
          {
            alias: "O",
            expression: {
              type: "Retrieve",
              dataType: `${FHIR}Observation`,
              codeProperty: "code",
              codeComparator: "~",
              codes: {
                type: "ToList",
                operand: { type: "Code", code, system: { name: "LOINC" } },
              },
            },
          },
        ],
        let: [],
        relationship: [],
        return: {
          expression: {
            type: "Tuple",
            element: [
              { name: "at", value: path(path(alias, "effective"), "value") },
              { name: "value", value: path(path(path(alias, "value"), "value"), "value") },
            ],
          },
        },
        sort: { by: [{ type: "ByColumn", path: "at", direction: "asc" }] },
      },
    },
  };
}

const library = new cql.Library({
  library: {
    identifier: { id: "Latest", version: "1" },
    schemaIdentifier: { id: "urn:hl7-org:elm", version: "r1" },
    usings: {
      def: [
        { localIdentifier: "System", uri: "urn:hl7-org:elm-types:r1" },
        { localIdentifier: "FHIR", uri: "http://hl7.org/fhir", version: "4.0.1" },
      ],
    },
    codeSystems: { def: [{ name: "LOINC", id: "http://loinc.org", accessLevel: "Public" }] },
    statements: {
      def: [
        {
          name: "Patient",
          context: "Patient",
          expression: {
            type: "SingletonFrom",
            operand: { type: "Retrieve", dataType: `${FHIR}Patient` },
          },
        },
        ...codes.map(latest),
      ],
    },
  },
});

async function run(body) {
  const source = PatientSource.FHIRv401();
  source.loadBundles([JSON.parse(body)]);
  const results = await new cql.Executor(library).exec(source);
  const found = Object.values(results.patientResults)[0];
  return Object.fromEntries(codes.map((code) => [code, found[code].value]));
}

(async () => {
  const body = require("node:fs").readFileSync(0, "utf8");
  await run(body);
  const times = [];
  let values;
  for (let round = 0; round < 3; round += 1) {
    const start = process.hrtime.bigint();
    values = await run(body);
    times.push(Number(process.hrtime.bigint() - start) / 1e6);
  }
  times.sort((a, b) => a - b);
  console.log(JSON.stringify({ milliseconds: times[1], values }));
})();
