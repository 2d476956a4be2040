// Writes an annotation for each line of JSON that it reads, with the host's own package.
const core = require("@actions/core");
const lines = require("node:readline").createInterface({ input: process.stdin });

lines.on("line", (line) => {
  const { level, message, properties } = JSON.parse(line);
  core[level](message, properties);
});
