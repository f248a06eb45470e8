// Usage: node run.mjs CORE ANSWERS
// Starts Pyodide with the folder CORE on its path, runs the Python file ANSWERS in it, and prints what that returns.
import { readFileSync } from "node:fs";
import { loadPyodide } from "pyodide";

const [core, answers] = process.argv.slice(2);
const pyodide = await loadPyodide({ stdout: () => {}, stderr: (line) => console.error(line) });
pyodide.FS.mkdirTree("/core");
pyodide.FS.mount(pyodide.FS.filesystems.NODEFS, { root: core }, "/core");
pyodide.runPython("import sys; sys.path.insert(0, '/core'); sys.dont_write_bytecode = True");
console.log(pyodide.runPython(readFileSync(answers, "utf8") + "\nall_answers()"));
