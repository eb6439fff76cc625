package buttonworth;

import java.util.List;
import java.util.Map;

/** The document asks for impossible physics. */
public final class DomainException extends ButtonworthException {
  private static final long serialVersionUID = 1;

  DomainException(String text, List<Map<String, Object>> errors) {
    super(text, errors);
  }
}
