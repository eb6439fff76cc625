package buttonworth;

import java.nio.charset.StandardCharsets;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;

/**
 * Which way of handling and selling gold concentrate leaves the most. Documents are JSON text (a String, or
 * UTF-8 as a byte[]) or a Map; the format's page describes them. Answers are maps in the answer's order (see
 * Json), their figures exact decimals, as text: new BigDecimal((String) figure). Each call here has a context of
 * its own, so any thread may make it.
 */
public final class Buttonworth {
  private Buttonworth() {}

  // ---- A plan that is read for one answer ---------------------------------------------------------

  private interface Job<T> {
    T of(Plan plan) throws ButtonworthException;
  }

  private static <T> T ask(Object document, Job<T> job) throws ButtonworthException {
    try (Context context = new Context(); Plan plan = context.plan(document)) {
      return job.of(plan);
    }
  }

  /** Reads a plan, as Context.plan does, and works out every route of it. */
  public static Map<String, Object> compare(Object document, Object options) throws ButtonworthException {
    return ask(document, plan -> plan.compare(options));
  }

  public static Map<String, Object> compare(Object document) throws ButtonworthException {
    return compare(document, null);
  }

  /** Reads a plan and draws it many times. */
  public static Simulation simulate(Object document, Object options) throws ButtonworthException {
    return ask(document, plan -> plan.simulate(options));
  }

  /** Reads a plan and tells what measuring an uncertain quantity of it once more is worth. */
  public static Map<String, Object> worth(Object document, Object options) throws ButtonworthException {
    return ask(document, plan -> plan.worth(options));
  }

  /** Reads a plan and tells every value of one quantity at which another route takes the lead. */
  public static Map<String, Object> breakEven(Object document, Object options) throws ButtonworthException {
    return ask(document, plan -> plan.breakEven(options));
  }

  /** Reads a plan and tells what each losing buyer would have to change for his route to win. */
  public static Map<String, Object> counterOffers(Object document, Object options) throws ButtonworthException {
    return ask(document, plan -> plan.counterOffers(options));
  }

  /** Reads a plan and tells how far the cut of a table may be off before it costs more than a sum. */
  public static Map<String, Object> forgivingCut(Object document, Object options) throws ButtonworthException {
    return ask(document, plan -> plan.forgivingCut(options));
  }

  /** Reads a plan and tells what each quantity does to every route and to the lead. */
  public static Map<String, Object> sensitivity(Object document, Object options) throws ButtonworthException {
    return ask(document, plan -> plan.sensitivity(options));
  }

  /** Reads a plan and tells which route leads over two quantities. */
  public static Map<String, Object> map(Object document, Object options) throws ButtonworthException {
    return ask(document, plan -> plan.map(options));
  }

  // ---- Requests of their own ----------------------------------------------------------------------

  /** What a buyer owes for one delivery: the statement. */
  public static Map<String, Object> settle(Object delivery) throws ButtonworthException {
    return finish(new ContextHandle().settle(Json.document(delivery, "a delivery")));
  }

  /** Where a buyer's return, or many returns, differ from what was due, part by part. */
  public static Map<String, Object> reconcile(Object deliveryAndReturn) throws ButtonworthException {
    return finish(new ContextHandle().reconcile(Json.document(deliveryAndReturn, "a delivery and its return")));
  }

  /** The book of a month of deliveries. */
  public static Map<String, Object> book(Object month) throws ButtonworthException {
    return finish(new ContextHandle().book(Json.document(month, "a month")));
  }

  /** Opens a month whose tables come in pieces, with a context of its own. */
  public static Month month(Object heading) throws ButtonworthException {
    return new Context().month(heading);
  }

  /** What contesting an assay is worth, before the exchange or before the umpire. */
  public static Map<String, Object> dispute(Object request) throws ButtonworthException {
    return finish(new ContextHandle().dispute(Json.document(request, "a dispute")));
  }

  /** Metal called for against metal accounted for, stage by stage. */
  public static Map<String, Object> metalCall(Object request) throws ButtonworthException {
    return finish(new ContextHandle().metal_call(Json.document(request, "streams and stages")));
  }

  /** Sampling, a lot from a run sheet, balances, curves, flux, bars, waiting: the request's format says which. */
  public static Map<String, Object> bench(Object request) throws ButtonworthException {
    return finish(new ContextHandle().bench(Json.document(request, "a request to the bench")));
  }

  /** A month of lots decided together, by the library of schedules; a UsageException where that is missing. */
  public static Map<String, Object> allocate(Object request) throws ButtonworthException {
    return finish(new ContextHandle().allocate(Json.document(request, "lots to allocate")));
  }

  // ---- Plain numbers and units --------------------------------------------------------------------

  /** One figure of plain numbers: formula("two_product_recovery", 0.008, 0.25, 0.0015) is 0.8174… */
  public static double formula(String name, double... arguments) throws ButtonworthException {
    if (arguments == null) throw Json.refused("", "the arguments are numbers, not null");
    return new ContextHandle().formula(Json.bytes(name, "a formula's name"), arguments);
  }

  /**
   * A formula over whole columns; one of a single number stands for every row. Where a row has no result the
   * exception says which.
   */
  public static double[] formulaArray(String name, double[]... columns) throws ButtonworthException {
    int rows = rows(columns);
    double[] values = new double[columns.length * rows];
    for (int i = 0; i < values.length; i++) {
      double[] column = columns[i / rows];
      values[i] = column[column.length == 1 ? 0 : i % rows];
    }
    double[] results = new double[rows];
    new ContextHandle().formula_array(Json.bytes(name, "a formula's name"), values, results);
    return results;
  }

  private static int rows(double[][] columns) throws ButtonworthException {
    if (columns == null) throw Json.refused("", "the columns are arrays, not null");
    int rows = columns.length == 0 ? 0 : 1;
    boolean known = false;
    for (double[] column : columns) {
      if (column == null) throw Json.refused("", "a column is an array, not null");
      if (column.length == 1) continue;
      if (known && column.length != rows) {
        throw Json.refused("", "the columns are not of one length: " + rows + ", " + column.length);
      }
      rows = column.length;
      known = true;
    }
    return rows;
  }

  /** The formulas, each with its arguments in order. */
  public static List<Map<String, Object>> formulas() throws ButtonworthException {
    List<Map<String, Object>> formulas = new java.util.ArrayList<>();
    for (Object one : (List<?>) Json.read(bytes(new ContextHandle().formulas()))) formulas.add(Json.object(one));
    return formulas;
  }

  /** A quantity in another unit of its dimension, exactly: convert("1 lb", "g") is "453.59237 g". */
  public static String convert(String quantity, String to) throws ButtonworthException {
    return convert(quantity, to, null);
  }

  /** The same by other factors, as in a plan; null for the exact ones. */
  public static String convert(String quantity, String to, Map<String, ?> factors) throws ButtonworthException {
    Map<String, Object> request = new LinkedHashMap<>();
    request.put("quantity", quantity);
    request.put("to", to);
    Json.bytes(quantity, "a quantity");
    Json.bytes(to, "a unit");
    if (factors != null) request.put("factors", factors);
    return (String) Json.read(bytes(new ContextHandle().convert(Json.document(request, "a quantity"))));
  }

  /** Numbers in another unit. NaN and infinities pass through. */
  public static double[] convertArray(double[] values, String from, String to) throws ButtonworthException {
    if (values == null) throw Json.refused("", "what is converted is an array, not null");
    double[] results = new double[values.length];
    new ContextHandle().convert_array(values, Json.bytes(from, "a unit"), Json.bytes(to, "a unit"), results);
    return results;
  }

  /** The JSON Schema (draft 7) of a document: "plan", "comparison", "options", "delivery", "statement", … */
  public static Map<String, Object> schema(String name) throws ButtonworthException {
    return finish(new ContextHandle().schema(Json.bytes(name, "a schema's name")));
  }

  /** The library's version. */
  public static String version() throws ButtonworthException {
    return Core.version();
  }

  // ---- For the package's own use ------------------------------------------------------------------

  static String utf8(byte[] text) {
    return new String(text, StandardCharsets.UTF_8);
  }

  /** The text of an answer that is needed no longer. */
  static byte[] bytes(AnswerHandle answer) throws ButtonworthException {
    byte[] text = answer.text();
    answer.close();
    return text;
  }

  static String text(AnswerHandle answer) throws ButtonworthException {
    return utf8(bytes(answer));
  }

  static Map<String, Object> finish(AnswerHandle answer) throws ButtonworthException {
    return Json.object(Json.read(bytes(answer)));
  }
}
