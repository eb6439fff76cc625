package buttonworth;

import java.util.Map;

/**
 * A plan that was read and found in order. It never changes. Made by Context.plan. Options are a Map, JSON text,
 * or null for the defaults; FORMAT.md's sections 23 to 29 describe them.
 */
public final class Plan implements AutoCloseable {
  private final Context context;
  private final PlanHandle handle;

  Plan(Context context, PlanHandle handle) {
    this.context = context;
    this.handle = handle;
  }

  /** Works out every route: a comparison, its routes in the plan's order. */
  public Map<String, Object> compare(Object options) throws ButtonworthException {
    return Buttonworth.finish(context.handle.compare(handle, options(options)));
  }

  public Map<String, Object> compare() throws ButtonworthException {
    return compare(null);
  }

  /** The same as JSON text. */
  public String compareText(Object options) throws ButtonworthException {
    return Buttonworth.text(context.handle.compare(handle, options(options)));
  }

  /** Draws the uncertain quantities many times: how sure each route is, and what knowing more is worth. */
  public Simulation simulate(Object options) throws ButtonworthException {
    return new Simulation(context.handle.simulate(handle, options(options)));
  }

  /** What measuring an uncertain quantity once or several times more is worth; options name the candidates. */
  public Map<String, Object> worth(Object options) throws ButtonworthException {
    return Buttonworth.finish(context.handle.worth(handle, options(options)));
  }

  /** Every value of one quantity at which another route takes the lead: Map.of("of", "/prices/Au"). */
  public Map<String, Object> breakEven(Object options) throws ButtonworthException {
    return Buttonworth.finish(context.handle.break_even(handle, options(options)));
  }

  /** What each losing buyer would have to change for his route to win, in words too. */
  public Map<String, Object> counterOffers(Object options) throws ButtonworthException {
    return Buttonworth.finish(context.handle.counter_offers(handle, options(options)));
  }

  /** How far the cut of a table may be off before it costs more than a sum. */
  public Map<String, Object> forgivingCut(Object options) throws ButtonworthException {
    return Buttonworth.finish(context.handle.forgiving_cut(handle, options(options)));
  }

  /** What each quantity does to every route and to the lead, what matters most first. */
  public Map<String, Object> sensitivity(Object options) throws ButtonworthException {
    return Buttonworth.finish(context.handle.sensitivity(handle, options(options)));
  }

  /** Which route leads over two quantities, named in options "x" and "y". */
  public Map<String, Object> map(Object options) throws ButtonworthException {
    return Buttonworth.finish(context.handle.map(handle, options(options)));
  }

  /**
   * A plan like this one with the value at a JSON pointer replaced by text, a number, a boolean, a Map, a List or
   * null. Text is taken as a spreadsheet's cell is: "true", "false" and "null" are not text, and neither is JSON
   * text of a list or an object.
   */
  public Plan withValue(String pointer, Object value) throws ButtonworthException {
    byte[] place = Json.bytes(pointer, "a pointer");
    return new Plan(context, context.handle.plan_with(handle, place, Json.cell(value, pointer)));
  }

  /** The plan's document as JSON text. */
  public String text() throws ButtonworthException {
    return Buttonworth.utf8(handle.text());
  }

  /** Frees the plan, again and again if you like. A call under way comes to its end. */
  @Override
  public void close() throws ButtonworthException {
    handle.close();
  }

  private static byte[] options(Object options) throws ButtonworthException {
    return options == null ? new byte[0] : Json.document(options, "the options");
  }
}
