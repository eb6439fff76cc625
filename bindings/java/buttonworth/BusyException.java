package buttonworth;

import java.util.List;
import java.util.Map;

/** Another thread is using this context. */
public final class BusyException extends ButtonworthException {
  private static final long serialVersionUID = 1;

  BusyException(String text, List<Map<String, Object>> errors) {
    super(text, errors);
  }
}
