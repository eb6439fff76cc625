import buttonworth.Buttonworth;
import buttonworth.Json;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.Map;

final class Demo {
  public static void main(String[] arguments) throws Exception {
    Map<String, Object> answer = Buttonworth.compare(Files.readString(Path.of("plan.json")));
    System.out.println(answer.get("best") + " " + Json.at(answer, "/routes/" + answer.get("best") + "/net"));
    System.out.println(Files.readString(Path.of("/proc/self/maps")));
  }
}
