package buttonworth;

import java.util.Iterator;
import java.util.List;
import java.util.Map;

/**
 * Limits of what is read, and the turn of one call at a time: another thread gets a BusyException meanwhile.
 * Frees itself; close does so at once.
 */
public final class Context implements AutoCloseable {
  final ContextHandle handle;

  public Context() throws ButtonworthException {
    handle = new ContextHandle();
  }

  /**
   * Reads a plan: JSON text (a String, or UTF-8 as a byte[]), a Map, or rows of a JSON pointer and a value, each
   * a List or an Object[] of two. All independent errors of the document are in the exception's errors().
   */
  public Plan plan(Object document) throws ButtonworthException {
    if (document instanceof CharSequence || document instanceof byte[] || document instanceof Map) {
      return new Plan(this, handle.plan(Json.document(document, "a plan")));
    }
    if (document instanceof Iterable) {
      return new Plan(this, handle.plan_of_rows(rows((Iterable<?>) document)));
    }
    throw Json.refused("", "a plan is text, a map or rows of a pointer and a value, not " + Json.kind(document));
  }

  /** Opens a month whose tables come in pieces: its heading, as JSON text or a Map. */
  public Month month(Object heading) throws ButtonworthException {
    return new Month(this, handle.month(Json.document(heading, "a month")));
  }

  /** One of the limits a document must keep to, such as "depth"; the C interface names them. */
  public long limit(String name) throws ButtonworthException {
    return handle.get_limit(Json.bytes(name, "a limit's name"));
  }

  public void setLimit(String name, long value) throws ButtonworthException {
    handle.set_limit(Json.bytes(name, "a limit's name"), value);
  }

  /** Asks the call under way to stop with a CancelledException. Any thread, any time. */
  public void cancel() throws ButtonworthException {
    handle.cancel();
  }

  /** Frees the context, again and again if you like. A call under way comes to its end. */
  @Override
  public void close() throws ButtonworthException {
    handle.close();
  }

  private static RowList rows(Iterable<?> rows) throws ButtonworthException {
    RowList gathered = new RowList();
    int number = 0;
    for (Object row : rows) add(gathered, row, ++number);
    return gathered;
  }

  private static void add(RowList gathered, Object row, int number) throws ButtonworthException {
    List<?> cells = row instanceof Object[] ? java.util.Arrays.asList((Object[]) row) : row instanceof List ? (List<?>) row : null;
    if (cells == null || cells.size() != 2) {
      String found = cells == null ? Json.kind(row) : cells.size() + " cells";
      throw Json.refused("", "row " + number + " is a pointer and a value, not " + found);
    }
    Iterator<?> both = cells.iterator();
    Object pointer = both.next();
    Object value = both.next();
    boolean empty = pointer == null && value == null; // as the empty cells of a spreadsheet may come
    byte[] place = Json.bytes(empty ? "" : pointer, "the pointer of row " + number);
    gathered.add(place, Json.cell(empty ? "" : value, empty ? "" : pointer.toString()));
  }
}
