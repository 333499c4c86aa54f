// text.js: text from files, and names, as the page may bear it: the twin of mixlab/text.py

const REPEATED = 80; // letters of a name that a message repeats

// what is obeyed or cannot be printed, line ends, what turns the order of letters, half characters
const OBEYED = /[\0-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ud800-\udfff]/gu;
const SHORT = { "\t": "\\t", "\n": "\\n", "\r": "\\r" };

/** Text with each character that would be obeyed and not seen written out, as \\x1b. */
export const visible = (text) => text.replace(OBEYED, (character) => SHORT[character] ?? written(character.charCodeAt(0)));

const written = (code) => (code < 256 ? `\\x${code.toString(16).padStart(2, "0")}` : `\\u${code.toString(16)}`);

/** No more than so many letters of a text, none of them in half. */
export const shortened = (text, most) => [...text.slice(0, 2 * most)].slice(0, most).join("");

/** The name of a file as a message can bear it. */
export function shown(name) {
  const seen = visible(name);
  return seen.length > REPEATED ? `${shortened(seen, REPEATED - 3)}...` : seen;
}
