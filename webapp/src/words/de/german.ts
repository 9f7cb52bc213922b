/* All German texts, by the name of their part: one script, which only German readers fetch. */
import { account } from "./account";
import { after } from "./after";
import { ahead } from "./ahead";
import { along } from "./along";
import { air } from "./air";
import { amend } from "./amend";
import { budget } from "./budget";
import { bulk } from "./bulk";
import { bringIn } from "./bring-in";
import { earlier } from "./earlier";
import { erase } from "./erase";
import { signing } from "./signing";
import { takeOut } from "./take-out";
import { exchange } from "./exchange";
import { bringResults } from "./bring-results";
import { fieldNames } from "./field-names";
import { memberNames } from "./member-names";
import { approvals } from "./approvals";
import { machines } from "./machines";
import { manifold } from "./manifold";
import { calculate } from "./calculate";
import { cautions } from "./cautions";
import { connection } from "./connection";
import { course } from "./course";
import { desk } from "./desk";
import { english } from "./english";
import { entering } from "./entering";
import { events } from "./events";
import { form } from "./form";
import { figures } from "./figures";
import { give } from "./give";
import { help } from "./help";
import { kinds } from "./kinds";
import { messages } from "./messages";
import { methods } from "./methods";
import { office } from "./office";
import { orders } from "./orders";
import { otherMethod } from "./other-method";
import { outlook } from "./outlook";
import { particulars } from "./particulars";
import { people } from "./people";
import { programme } from "./programme";
import { planning } from "./planning";
import { register } from "./register";
import { history } from "./history";
import { rounds } from "./rounds";
import { said } from "./say";
import { scan } from "./scan";
import { settings } from "./settings";
import { standards } from "./standards";
import { stops } from "./stops";
import { sync } from "./sync";
import { systems } from "./systems";
import { today } from "./today";
import { trace } from "./trace";
import { visit } from "./visit";
import { way } from "./way";
import { ways } from "./ways";

const parts = {
  account,
  after,
  ahead,
  along,
  air,
  amend,
  budget,
  bulk,
  bringIn,
  earlier,
  erase,
  signing,
  takeOut,
  exchange,
  bringResults,
  fieldNames,
  memberNames,
  approvals,
  machines,
  manifold,
  calculate,
  cautions,
  connection,
  course,
  desk,
  english,
  entering,
  events,
  figures,
  give,
  help,
  kinds,
  messages,
  methods,
  office,
  orders,
  otherMethod,
  outlook,
  particulars,
  people,
  programme,
  register,
  planning,
  history,
  rounds,
  scan,
  settings,
  standards,
  stops,
  sync,
  systems,
  today,
  trace,
  visit,
  way,
  ways,
};

/**
 * The texts of each part of the client, what gives a sentence of the calculations, and what gives a
 * text of a form.
 */
export type German = { parts: { [part: string]: unknown }; said: typeof said; form: (text: string) => string };

export const german: German = { parts, said, form };
