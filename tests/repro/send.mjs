// Sends one file with tus-js-client, as the page does; prints what happened as JSON.
// node send.mjs FILE ADDRESS [upload|create] [CHUNK_BYTES]
import { createReadStream, statSync } from "node:fs";
import { Upload } from "tus-js-client";

const [file, address, how = "upload", chunk = ""] = process.argv.slice(2);
const begun = [];
const told = { retries: 0, requests: 0 };

const upload = new Upload(createReadStream(file), {
  ...(how === "create" ? { endpoint: address } : { uploadUrl: address }),
  uploadSize: statSync(file).size,
  chunkSize: chunk ? Number(chunk) : Number.POSITIVE_INFINITY,
  metadata: { filename: "Seite é.tif" },
  retryDelays: Array(40).fill(150),
  onBeforeRequest(request) {
    told.requests += 1;
    if (request.getMethod() === "PATCH") {
      begun.push(Number(request.getHeader("Upload-Offset")));
    }
  },
  onShouldRetry() {
    told.retries += 1;
    return true;
  },
  onProgress(sent) {
    if (process.send) process.send(sent);
  },
  onError(error) {
    console.log(JSON.stringify({ ...told, begun, error: String(error) }));
    process.exit(1);
  },
  onSuccess() {
    console.log(JSON.stringify({ ...told, begun, url: upload.url }));
    process.exit(0);
  },
});
upload.start();
