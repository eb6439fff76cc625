package buttonworth;

import java.util.List;
import java.util.Map;

/** A target that cannot be reached. */
public final class NoSolutionException extends ButtonworthException {
  private static final long serialVersionUID = 1;

  NoSolutionException(String text, List<Map<String, Object>> errors) {
    super(text, errors);
  }
}
