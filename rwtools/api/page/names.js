// The page's words for kinds of marks, skills, parts and rules.

export const NAMES = {
  transition: "joins ideas",
  meaning: "the text gives its meaning",
  sound: "well marked",
  fault: "fault",
};
const SKILLS = {
  transition: "joining words", vocabulary: "word meaning", punctuation: "punctuation", grammar: "grammar",
};
const ROLES = {
  arg1: "first part", arg2: "second part", reason: "reason", result: "result", term: "word",
  gloss: "meaning", cue: "signal", clause: "clause", subject: "subject", verb: "verb",
  antecedent: "stands for", modifier: "describes", word: "word",
};
// A rule is called after its fault. Where nothing is wrong, the same place has a name of its own.
const SOUND = {
  "adverb-as-conjunction": "semicolon before a linking adverb",
  "colon-after-incomplete-clause": "colon after a full clause",
  "dangling-modifier": "opening words and their doer",
  "its-and-it-is": "apostrophe of a short form",
  "missing-comma-after-introduction": "comma after an introduction",
  "missing-comma-before-conjunction": "comma before a joining word",
  "quotation-comma": "comma between the speaker and the words",
  "semicolon-in-list": "semicolons in a list",
  "semicolon-unequal-parts": "semicolon between two clauses",
  "series-comma": "commas of a list",
  "subject-verb-agreement": "verb that agrees with its subject",
  "unpaired-interruption": "two marks around an interruption",
};
// Rules whose parts are the members of one list.
const LISTS = new Set(["series-comma", "semicolon-in-list"]);

export const skillName = (skill) => SKILLS[skill] || skill.replaceAll("_", " ");
export const roleName = (role) => ROLES[role] || role.replaceAll("_", " ");

export const markOf = (clue) => (["sound", "fault"].includes(clue.label) ? clue.label : kindOf(clue));
const kindOf = (clue) => (clue.kind in NAMES ? clue.kind : clue.kind === "punctuation" || clue.kind === "grammar" ? "sound" : "meaning");

// What a clue is about: its relation, the way of its meaning, or its rule, named by what is there.
export function topic(clue) {
  if (clue.label === "sound") return SOUND[clue.rule] || clue.rule.replaceAll("-", " ");
  return clue.label === "fault" ? clue.rule.replaceAll("-", " ") : clue.label;
}

// Of a hundred marks or answers with this confidence, so many are right; nothing is ever certain.
export const hundred = (confidence) => Math.min(99, Math.max(1, Math.round(confidence * 100)));
// Below half, a mark is a doubtful one.
export const isWeak = (clue) => clue.confidence < 0.5;

// The roles worth drawing: no stretch twice. Parts of one name are numbered as they stand in the text.
export function parts(evidence, rule) {
  const seen = new Set();
  const shown = (evidence || []).filter((e) => {
    const key = `${e.start_utf16}-${e.end_utf16}`;
    if (e.start_utf16 === undefined || e.end_utf16 <= e.start_utf16 || seen.has(key)) return false;
    seen.add(key);
    return true;
  });
  const called = (e) => (!e.role ? "" : LISTS.has(rule) && e.role.startsWith("arg") ? "member" : roleName(e.role));
  return shown.map((e) => {
    const name = called(e);
    const alike = shown.filter((other) => called(other) === name);
    const place = alike.filter((other) => other.start_utf16 <= e.start_utf16).length;
    return { ...e, name: name && alike.length > 1 ? `${name} ${place}` : name };
  });
}
