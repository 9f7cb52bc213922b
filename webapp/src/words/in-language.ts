import type { Field } from "./field";
import { german } from "./language";

/** inLanguage gives the fields of a form with their texts in the language of this page. */
export function inLanguage(fields: readonly Field[]): readonly Field[] {
  const form = german?.form;
  if (!form) return fields;
  const put = (f: Field): Field => {
    const said = {
      label: form(f.label),
      ...(f.hint === undefined ? {} : { hint: form(f.hint) }),
      ...(f.unit === undefined ? {} : { unit: form(f.unit) }),
    };
    switch (f.as) {
      case "choice":
      case "checks":
        return { ...f, ...said, options: f.options.map(([v, name]) => [v, form(name)] as const) };
      case "group":
        return {
          ...f,
          ...said,
          fields: f.fields.map(put),
          ...(f.switch === undefined ? {} : { switch: form(f.switch) }),
        };
      case "list":
        return { ...f, ...said, fields: f.fields.map(put), item: (n) => form(f.item(n)) };
      default:
        return { ...f, ...said };
    }
  };
  return fields.map(put);
}
