package buttonworth;

import java.util.Map;

/**
 * The answer of a simulation, and its draws where the options had "keep": true. Draws may take much memory, which
 * Java's collector does not see: close gives it back at once.
 */
public final class Simulation implements AutoCloseable {
  private final AnswerHandle handle;
  private final Map<String, Object> answer;

  Simulation(AnswerHandle handle) throws ButtonworthException {
    this.handle = handle;
    this.answer = Json.object(Json.read(handle.text()));
  }

  public Map<String, Object> answer() {
    return answer;
  }

  /**
   * What a route is worth, or an input of this JSON pointer is, draw by draw; NaN where a draw was left out.
   */
  public double[] draws(String name) throws ButtonworthException {
    return new ContextHandle().draws(handle, Json.bytes(name, "a route or a pointer"));
  }

  /** Frees the draws, again and again if you like; the answer stays. */
  @Override
  public void close() throws ButtonworthException {
    handle.close();
  }
}
