// Drives a running service with npm fhir-kit-client and says what came, as JSON on one line.
import { readFileSync } from "node:fs";

import { Client } from "fhir-kit-client";

const [base, file] = process.argv.slice(2);
const client = new Client({ baseUrl: `${base}/fhir` });
const record = JSON.parse(readFileSync(file, "utf8"));
const said = {};

const metadata = await client.capabilityStatement();
said.fhirVersion = metadata.fhirVersion;
said.operations = metadata.rest[0].operation.map((each) => each.name);

const review = await client.operation({ name: "$review-deterioration", method: "POST", input: record });
said.review = [review.type, review.entry.length];
const handover = await client.operation({ name: "handover-document", method: "POST", input: record });
said.handover = handover.type;
const definition = await client.read({ resourceType: "OperationDefinition", id: "review-deterioration" });
said.definition = definition.code;
const found = await client.search({ resourceType: "CodeSystem", searchParams: { url: "urn:weatherglass:codes:score" } });
said.found = found.entry.map((each) => each.resource.id);

async function refusal(call) {
  try {
    await call();
    return "not refused";
  } catch (error) {
    return [error.response.status, error.response.data.resourceType, error.response.data.issue[0].code];
  }
}
said.wrong = await refusal(() => client.operation({ name: "$review-deterioration", method: "POST", input: { resourceType: "Patient" } }));
said.missing = await refusal(() => client.read({ resourceType: "Patient", id: "1" }));
// It posts to the base with a trailing slash.
said.transaction = await refusal(() => client.transaction({ body: record }));
console.log(JSON.stringify(said));
