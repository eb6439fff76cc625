package buttonworth;

import java.util.Map;

/** A month whose tables come in pieces; the rows are settled as they come and not kept. Made by Context.month. */
public final class Month implements AutoCloseable {
  private final Context context;
  private final MonthHandle handle;

  Month(Context context, MonthHandle handle) {
    this.context = context;
    this.handle = handle;
  }

  /** The next piece of a table, "deliveries" or "received", the first with its header, cut anywhere. */
  public void take(String table, String csv) throws ButtonworthException {
    context.handle.month_take(handle, Json.bytes(table, "a table's name"), Json.bytes(csv, "a table"));
  }

  /** The same with the piece as UTF-8. */
  public void take(String table, byte[] csv) throws ButtonworthException {
    if (csv == null) throw Json.refused("", "a table is text, not null");
    context.handle.month_take(handle, Json.bytes(table, "a table's name"), csv);
  }

  /** Ends the tables: the book. The month is over after it. */
  public Map<String, Object> book() throws ButtonworthException {
    return Buttonworth.finish(context.handle.month_close(handle));
  }

  /** Frees the month, again and again if you like. A call under way comes to its end. */
  @Override
  public void close() throws ButtonworthException {
    handle.close();
  }
}
